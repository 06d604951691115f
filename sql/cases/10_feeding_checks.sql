-- One row each time feeding was asked about, answered or not.
SELECT
    case_ref,
    check_date,
    feeding,
    at_breast,
    reason_stopped
FROM store.feeding_checks
JOIN counting_cases USING (case_ref, load)
