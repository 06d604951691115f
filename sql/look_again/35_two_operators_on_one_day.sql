-- title: Two operators on one day
-- why: The records of one division in the period name more than one operator. It counts as one division, whose operator is none of them. To see whether two divided together, or one line is wrong. The practitioner is the lead practitioner.
SELECT
    d.case_ref,
    c.lead_practitioner AS practitioner,
    d.division_date AS day,
    'operators ' || string_agg(DISTINCT p.operator, ', ' ORDER BY p.operator) AS detail
FROM own_divisions AS d
JOIN cases AS c USING (case_ref)
JOIN procedures AS p -- one to many
    ON p.case_ref = d.case_ref
    AND p.procedure_date = d.division_date
WHERE d.operator = 'several'
    AND period_of(d.division_date) = $period
GROUP BY
    d.case_ref,
    c.lead_practitioner,
    d.division_date
ORDER BY
    day,
    d.case_ref
