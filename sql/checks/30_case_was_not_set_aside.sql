-- kind: row
-- allowed: a case that was accepted: a row of a case that is set aside goes with it
-- mend: mend the row of the case; this one is then accepted with it
-- why: of a case whose own row could not be used
SELECT
    table_name,
    'case_ref' AS column_name,
    row_id,
    case_ref || ', a case that was set aside' AS found
FROM staged_rows
WHERE table_name NOT IN ('cases', 'requests')
    AND case_ref IN (SELECT case_ref FROM staged_cases)
    AND case_ref NOT IN (SELECT case_ref FROM usable_cases)
