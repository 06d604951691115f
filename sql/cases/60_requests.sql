-- unique: case_ref
-- One row a dated request for help: of a case, or of a family that was never seen or not yet.
SELECT
    case_ref,
    help_requested_date AS request_date,
    first_contact_date,
    NULL AS outcome,
    CAST(NULL AS DATE) AS outcome_date,
    cut_off
FROM cases
WHERE help_requested_date IS NOT NULL
UNION ALL
SELECT
    case_ref,
    request_date,
    NULL AS first_contact_date,
    outcome,
    outcome_date,
    cut_off
FROM counting_requests
