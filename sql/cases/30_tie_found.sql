-- One row a case with a tie type on record: that of the latest assessment, up to the cut-off, that records one.
-- On one day the last of none, anterior, posterior, submucosal.
SELECT
    case_ref,
    max_by(
        tie_type,
        (assessment_date, list_position(['none', 'anterior', 'posterior', 'submucosal'], tie_type))
    ) AS tie_type
FROM assessments
WHERE tie_type IS NOT NULL
GROUP BY case_ref
