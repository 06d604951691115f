-- One row a recorded answer of a family to whether it felt helped.
SELECT
    case_ref,
    answered_date,
    helped
FROM store.family_views
JOIN counting_cases USING (case_ref, load)
WHERE helped IS NOT NULL
