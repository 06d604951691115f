-- Every finding, with the sheet it stands in, what that sheet calls the column, and whose row it is. A date that was
-- translated is quoted first as the sheet has it, so that it can be found there. row_id is NULL where a line gave no row.
SELECT
    coalesce(t.sheet, f.sheet) AS sheet,
    f.table_name,
    f.row_id,
    f.line,
    f.last_line,
    f.column_name,
    coalesce(c.said_as, f.said_as, f.column_name) AS said_as,
    f.kind,
    CASE WHEN w.written <> f.found THEN w.written || ': ' || f.found ELSE f.found END AS found,
    f.allowed,
    f.mend,
    coalesce(r.case_ref, f.case_ref, '') AS case_ref
FROM set_aside AS f
LEFT JOIN staged_rows AS r USING (table_name, row_id)
LEFT JOIN sheet_tables AS t ON t.sheet_table = r.sheet_table
LEFT JOIN sheet_table_columns AS c
    ON c.sheet_table = r.sheet_table
    AND c.column_name = f.column_name
LEFT JOIN dates_as_written AS w
    ON w.table_name = f.table_name
    AND w.row_id = f.row_id
    AND w.column_name = f.column_name
