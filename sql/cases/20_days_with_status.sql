-- unique: case_ref, status_date
-- One row a case and day on which a contact recorded how the problem stood; on one day the worse counts.
-- The status on any later day is that of the latest of these days.
SELECT
    case_ref,
    contact_date AS status_date,
    ['worse', 'unchanged', 'improved', 'resolved'][
        min(list_position(['worse', 'unchanged', 'improved', 'resolved'], problem_status))
    ] AS status
FROM contacts
WHERE problem_status IS NOT NULL
GROUP BY
    case_ref,
    contact_date
