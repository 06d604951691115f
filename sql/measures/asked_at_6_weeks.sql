-- title: Asked at six weeks
-- question: Of the babies breastfed when we met them, about how many do we know how they were fed at six weeks?
-- section: feeding
-- kind: proportion
-- eligible: Breastfed at first contact, first seen younger than 28 days, and 8 weeks old by the cut-off; not closed as died
-- met: An answer about feeding recorded from 5 to 8 weeks of age
-- unknown: Never: no answer is not met
-- better: higher
-- grain: case
-- counted_on: the day the baby was six weeks old
-- horizon: 14
-- also_by: route
-- source: common practice, no published standard; the project's own definition; published prevalence asks for a known status in 95% (PHE commentary, 2016)
-- published: yes
-- inside: known = asked_at_6_weeks.eligible
-- never: age_band 28+; age_band not_recorded
SELECT
    case_ref,
    six_week_date AS index_date,
    six_week_feeding IS NOT NULL AS met
FROM cases
JOIN six_week_question USING (case_ref)
WHERE asked
    AND is_over
