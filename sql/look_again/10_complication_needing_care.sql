-- title: Complication needing care
-- why: Noted in the quarter after a division, and treated or in hospital; or bleeding, infection or injury whose severity is not recorded, so that whether it needed care is not known. The practitioner is the operator of the latest division before it.
-- A minor complication is in the figures and not here; so are reattachment and feeding refusal, unless they needed care.
-- Two operators on the day of that division: each is to look, so each has a line. After a division before this episode
-- there is no operator of ours, and it is the lead practitioner's.
WITH noted AS (
    SELECT
        x.case_ref,
        x.noted_date,
        x.kind,
        x.severity,
        max(p.procedure_date) AS procedure_date -- the latest on or before that day
    FROM complications AS x
    LEFT JOIN procedures AS p -- one to many
        ON p.case_ref = x.case_ref
        AND p.procedure_date <= x.noted_date
    WHERE quarter_of(x.noted_date) = $quarter
        AND (
            x.needed_care
            OR (x.needed_care IS NULL AND x.kind IN ('bleeding', 'infection', 'injury'))
        )
    GROUP BY ALL
)
SELECT DISTINCT
    n.case_ref,
    CASE WHEN n.procedure_date IS NULL THEN c.lead_practitioner ELSE p.operator END AS practitioner,
    n.noted_date AS day,
    replace(n.kind, '_', ' ') || ', ' || coalesce(
        CASE n.severity WHEN 'hospital' THEN 'in hospital' ELSE n.severity END,
        'severity not recorded'
    ) || CASE n.noted_date - n.procedure_date
        WHEN 0 THEN ', on the day of the division'
        WHEN 1 THEN ', 1 day after the division'
        ELSE coalesce(', ' || (n.noted_date - n.procedure_date) || ' days after the division', ', after a division before this episode')
    END AS detail
FROM noted AS n
JOIN cases AS c USING (case_ref)
LEFT JOIN procedures AS p -- one to many, where there were two on the day
    ON p.case_ref = n.case_ref
    AND p.procedure_date = n.procedure_date
ORDER BY
    day,
    case_ref,
    detail,
    practitioner NULLS LAST
