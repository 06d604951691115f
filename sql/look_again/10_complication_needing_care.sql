-- title: Complication needing care
-- why: Noted in the period after a division, and treated or in hospital; or bleeding, infection, injury or trouble with breathing whose severity is not recorded, so that whether it needed care is not known. The practitioner is the operator of the latest division before it.
-- A minor complication is in the figures and not here; so are reattachment and feeding refusal, unless they needed care.
-- One after a division elsewhere has a list of its own. After a division before this episode there is no operator of
-- ours, and it is the lead practitioner's.
WITH noted AS (
    SELECT
        x.case_ref,
        x.noted_date,
        x.kind,
        x.severity,
        b.days_after,
        b.division_id
    FROM complications AS x
    LEFT JOIN complications_of_divisions AS b
        ON b.case_ref = x.case_ref
        AND b.noted_date = x.noted_date
        AND b.kind = x.kind
        AND b.severity IS NOT DISTINCT FROM x.severity
    WHERE period_of(x.noted_date) = $period
        AND b.elsewhere IS NOT TRUE
        AND (
            x.needed_care
            OR (x.needed_care IS NULL AND x.kind IN ('bleeding', 'infection', 'injury', 'respiratory'))
        )
)
SELECT
    n.case_ref,
    CASE WHEN n.division_id IS NULL THEN c.lead_practitioner ELSE d.operator END AS practitioner,
    n.noted_date AS day,
    replace(n.kind, '_', ' ') || ', ' || coalesce(
        CASE n.severity WHEN 'hospital' THEN 'in hospital' ELSE n.severity END,
        'severity not recorded'
    ) || CASE n.days_after
        WHEN 0 THEN ', on the day of the division'
        WHEN 1 THEN ', 1 day after the division'
        ELSE coalesce(', ' || n.days_after || ' days after the division', ', after a division before this episode')
    END AS detail
FROM noted AS n
JOIN cases AS c USING (case_ref)
LEFT JOIN divisions AS d USING (division_id)
ORDER BY
    day,
    case_ref,
    detail
