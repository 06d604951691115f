-- kind: row
-- allowed: one row for each case_ref; rows that repeat it must be equal throughout
-- mend: find out which row is right, and export only that one
-- why: one reference twice, with different content
WITH refs AS (
    SELECT
        table_name,
        case_ref,
        string_agg(line, ', ' ORDER BY line) AS lines
    FROM staged_rows
    WHERE table_name IN ('cases', 'requests')
        AND case_ref IS NOT NULL
    GROUP BY table_name, case_ref
    HAVING count(DISTINCT whole_row) > 1
)
SELECT
    table_name,
    'case_ref' AS column_name,
    s.row_id,
    case_ref || ' on lines ' || refs.lines || ', which differ' AS found
FROM staged_rows AS s
JOIN refs USING (table_name, case_ref)
