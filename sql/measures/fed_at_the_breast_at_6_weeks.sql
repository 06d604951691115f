-- title: Fed at the breast at six weeks
-- question: Of the babies breastfed when we met them, how many fed directly at the breast at six weeks?
-- section: feeding
-- kind: proportion
-- eligible: Breastfed at first contact, first seen younger than 28 days, and 8 weeks old by the cut-off; not closed as died
-- met: Any breast milk at the six-week check, and fed at the breast itself, not only expressed milk (of several answers from 5 to 8 weeks of age, the one nearest to six weeks)
-- unknown: No answer from 5 to 8 weeks of age, or breast milk without a word on how
-- better: higher
-- grain: case
-- counted_on: the day the baby was six weeks old
-- horizon: 14
-- also_by: route
-- all_due: yes
-- source: common practice, no published standard; the project's own definition
-- published: everyone
-- inside: eligible = asked_at_6_weeks.eligible; known < asked_at_6_weeks.met; met < breastfed_at_6_weeks.met; not_met > breastfed_at_6_weeks.not_met
SELECT
    case_ref,
    six_week_date AS index_date,
    CASE
        WHEN six_week_feeding = 'none' THEN FALSE
        WHEN breastfed(six_week_feeding) THEN six_week_at_breast
    END AS met
FROM cases
JOIN six_week_question USING (case_ref)
WHERE asked
    AND is_over
