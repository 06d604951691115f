-- kind: row
-- allowed: text of 1 to 64 characters; it must be there
-- mend: give the case its pseudonym
-- why: no reference to tell the case by
SELECT
    table_name,
    'case_ref' AS column_name,
    row_id,
    coalesce(case_ref, '(nothing)') AS found
FROM staged_rows
WHERE case_ref IS NULL
    OR case_ref = 'not_known'
    OR length(case_ref) > 64
