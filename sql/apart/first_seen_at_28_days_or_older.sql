-- title: Breastfed at first contact, but first seen at 28 days or older, so not in this measure
-- measure: breastfed_at_6_weeks
SELECT
    case_ref,
    six_week_date AS index_date
FROM cases
WHERE feeding_at_first_contact IN ('exclusive', 'partial')
    AND age_days >= 28
    AND birth_date + 56 <= cut_off
    AND closed_reason IS DISTINCT FROM 'died'
