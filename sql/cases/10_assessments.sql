-- One row an assessment of the tongue.
SELECT
    case_ref,
    assessment_date,
    recorded(tie_type) AS tie_type,
    extension,
    elevation,
    lateralisation,
    cupping,
    peristalsis,
    function_score
FROM store.assessments
JOIN counting_cases USING (case_ref, load)
