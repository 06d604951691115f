-- kind: row
-- allowed: a case_ref that no row of cases in this export holds: who was seen is a case, and the case counts
-- mend: nothing is lost, if the case has its help_requested_date; else give it that, or leave the request out
-- why: asked for help and was seen, so counted as a case
SELECT
    'requests' AS table_name,
    'case_ref' AS column_name,
    row_id,
    case_ref || ', a case of this export' AS found
FROM staged_requests
WHERE case_ref IN (SELECT case_ref FROM staged_cases)
