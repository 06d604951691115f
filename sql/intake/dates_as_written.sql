-- What stands in the sheet where a translated date was set aside: one row a row and column.
SELECT DISTINCT
    f.table_name,
    f.row_id,
    f.column_name,
    w.fields[$place] AS written
FROM set_aside AS f
JOIN staged_rows AS r USING (table_name, row_id)
JOIN records AS w ON w.line = r.line
WHERE r.sheet_table = $sheet_table
    AND f.column_name = $column
    AND w.fields[$place] <> ''
