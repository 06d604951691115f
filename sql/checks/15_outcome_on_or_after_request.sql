-- kind: value
-- allowed: a day on or after request_date
-- mend: correct outcome_date or request_date in the record
-- why: days in an order that cannot be
SELECT
    'requests' AS table_name,
    'outcome_date' AS column_name,
    row_id,
    outcome_date || ', before request_date ' || request_date AS found
FROM staged_requests
WHERE outcome_date < request_date
