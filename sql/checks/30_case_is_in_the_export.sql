-- kind: row
-- allowed: a case_ref of the cases of this export
-- mend: export the case too, or correct the case_ref
-- why: of a case that is not in the export
SELECT
    table_name,
    'case_ref' AS column_name,
    row_id,
    case_ref || ', which no readable row of cases holds' AS found
FROM staged_rows
WHERE table_name <> 'requests' -- a request is of a family that is no case yet
    AND case_ref IS NOT NULL
    AND case_ref NOT IN (SELECT case_ref FROM staged_cases WHERE case_ref IS NOT NULL)
