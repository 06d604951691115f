-- title: Breastfed at six weeks
-- question: Of the babies breastfed when we met them, how many were still breastfed at six weeks?
-- section: feeding
-- kind: proportion
-- eligible: Breastfed at first contact, first seen younger than 28 days, and 8 weeks old by the cut-off; not closed as died
-- met: Any breast milk at the six-week check (of several answers from 5 to 8 weeks of age, the one nearest to six weeks)
-- unknown: No answer recorded from 5 to 8 weeks of age
-- heard: asked; not asked
-- better: higher
-- grain: case
-- counted_on: the day the baby was six weeks old
-- horizon: 14
-- also_by: route feeding_at_first_contact
-- all_due: yes
-- source: official statistics of breastfeeding at 6 to 8 weeks (Wales, England) count records with a known status and print the missing share; the ages of 5 to 8 weeks are the project's own
-- published: yes
-- inside: eligible = asked_at_6_weeks.eligible; known = asked_at_6_weeks.met
-- never: age_band 28+; age_band not_recorded
SELECT
    case_ref,
    six_week_date AS index_date,
    breastfed(six_week_feeding) AS met
FROM cases
JOIN six_week_question USING (case_ref)
WHERE asked
    AND is_over
