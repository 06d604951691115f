-- title: Division with no visible tie
-- why: Divided in the quarter, though the kind of tie on record, the division’s own or else the case’s, is none or submucosal. The practitioner is its operator.
SELECT
    p.case_ref,
    p.operator AS practitioner,
    p.procedure_date AS day,
    CASE t.tie_type
        WHEN 'none' THEN 'no tie found'
        ELSE 'submucosal'
    END || CASE WHEN p.tie_type IS NULL THEN ', by the assessment' ELSE ', by the record of the division' END AS detail
FROM procedures AS p
JOIN tie_divided AS t USING (procedure_id)
WHERE quarter_of(p.procedure_date) = $quarter
    AND t.tie_type IN ('none', 'submucosal')
ORDER BY
    day,
    case_ref,
    p.procedure_id
