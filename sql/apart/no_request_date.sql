-- title: No date of the request for help, so not in this measure
-- measure: seen_promptly
-- grain: case
SELECT
    case_ref,
    first_contact_date AS index_date
FROM cases
WHERE help_requested_date IS NULL
