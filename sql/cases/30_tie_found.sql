-- unique: case_ref
-- One row a case with a tie type on record: that of the latest assessment, up to the cut-off, that records one.
-- On one day the one that comes last in the list counts.
SELECT
    case_ref,
    max_by(tie_type, (assessment_date, place_of_tie_type(tie_type))) AS tie_type
FROM assessments
WHERE tie_type IS NOT NULL
GROUP BY case_ref
