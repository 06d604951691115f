-- title: Division with no visible tie
-- why: Divided in the period, by this service, though the kind of tie on record, the division’s own or else that of the latest assessment by then, is none or submucosal. The practitioner is its operator.
SELECT
    case_ref,
    operator AS practitioner,
    division_date AS day,
    CASE tie_type
        WHEN 'none' THEN 'no tie found'
        ELSE 'submucosal'
    END || CASE WHEN tie_type_is_its_own THEN ', by the record of the division' ELSE ', by the assessment' END AS detail
FROM own_divisions
WHERE period_of(division_date) = $period
    AND tie_type IN ('none', 'submucosal')
ORDER BY
    day,
    case_ref
