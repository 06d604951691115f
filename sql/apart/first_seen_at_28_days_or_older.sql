-- title: Breastfed at first contact, but first seen at 28 days or older, so not in this measure
-- measure: breastfed_at_6_weeks
SELECT
    case_ref,
    six_week_date AS index_date
FROM cases
JOIN six_week_question USING (case_ref)
WHERE NOT asked
    AND is_over
