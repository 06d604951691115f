-- kind: row
-- allowed: one row for each case_ref; rows that repeat it must be equal throughout
-- mend: find out which row is right, and export only that one
WITH refs AS (
    SELECT
        case_ref,
        string_agg(line, ', ' ORDER BY line) AS lines
    FROM staged_requests
    WHERE case_ref IS NOT NULL
    GROUP BY case_ref
    HAVING count(DISTINCT whole_row) > 1
)
SELECT
    'requests' AS table_name,
    'case_ref' AS column_name,
    s.row_id,
    s.case_ref || ' on lines ' || refs.lines || ', which differ' AS found
FROM staged_requests AS s
JOIN refs USING (case_ref)
