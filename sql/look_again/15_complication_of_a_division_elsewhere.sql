-- title: Complication after a division elsewhere
-- why: Noted in the period, and the latest division before it was made by another provider. It is in no figure of this service; the family may need help, and the other provider may want to know. The practitioner is the lead practitioner.
SELECT
    x.case_ref,
    c.lead_practitioner AS practitioner,
    x.noted_date AS day,
    replace(x.kind, '_', ' ') || ', ' || coalesce(
        CASE x.severity WHEN 'hospital' THEN 'in hospital' ELSE x.severity END,
        'severity not recorded'
    ) || CASE x.days_after
        WHEN 0 THEN ', on the day of the division'
        WHEN 1 THEN ', 1 day after the division'
        ELSE ', ' || x.days_after || ' days after the division'
    END AS detail
FROM complications_of_divisions AS x
JOIN cases AS c USING (case_ref)
WHERE x.elsewhere
    AND period_of(x.noted_date) = $period
ORDER BY
    day,
    case_ref,
    detail
