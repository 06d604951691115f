-- title: Divided although vitamin K was declined or not given
-- why: Divided in the period by this service, and vitamin K is on record as declined or not given, so the risk of bleeding was higher. To see that it was weighed and the family told. The practitioner is the operator.
SELECT
    case_ref,
    operator AS practitioner,
    division_date AS day,
    'vitamin K ' || replace(vitamin_k, '_', ' ') AS detail
FROM own_divisions
WHERE vitamin_k IN ('declined', 'not_given')
    AND period_of(division_date) = $period
ORDER BY
    day,
    case_ref
