-- The cases that no row rule has refused so far: what their other rows may rest on.
SELECT DISTINCT
    case_ref,
    first_contact_date
FROM staged_cases
WHERE row_id NOT IN (
    SELECT row_id FROM set_aside WHERE table_name = 'cases' AND kind = 'row' AND row_id IS NOT NULL
)
