-- kind: value
-- allowed: a day on or after first_contact_date
-- mend: correct closed_date or first_contact_date in the record
-- why: days in an order that cannot be
SELECT
    'cases' AS table_name,
    'closed_date' AS column_name,
    row_id,
    closed_date || ', before first_contact_date ' || first_contact_date AS found
FROM staged_cases
WHERE closed_date < first_contact_date
