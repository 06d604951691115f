-- kind: value
-- allowed: a day on or before first_contact_date
-- mend: correct help_requested_date or first_contact_date in the record
-- why: days in an order that cannot be
SELECT
    'cases' AS table_name,
    'help_requested_date' AS column_name,
    row_id,
    help_requested_date || ', after first_contact_date ' || first_contact_date AS found
FROM staged_cases
WHERE help_requested_date > first_contact_date
