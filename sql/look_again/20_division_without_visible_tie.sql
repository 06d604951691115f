-- title: Division with no visible tie
-- why: Divided in the quarter, though the kind of tie on record, the division’s own or else the case’s, is none or submucosal. With its operator.
SELECT
    p.case_ref,
    p.operator AS practitioner,
    p.procedure_date AS day,
    CASE coalesce(p.tie_type, c.tie_type)
        WHEN 'none' THEN 'no tie found'
        ELSE 'submucosal'
    END || CASE WHEN p.tie_type IS NULL THEN ', by the assessment' ELSE ', by the record of the division' END AS detail
FROM procedures AS p
JOIN cases AS c USING (case_ref)
WHERE quarter_of(p.procedure_date) = $quarter
    AND coalesce(p.tie_type, c.tie_type) IN ('none', 'submucosal')
ORDER BY
    day,
    case_ref,
    p.procedure_id
