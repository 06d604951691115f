-- title: Infection within 14 days
-- question: After how many divisions was an infection noted within two weeks?
-- section: division
-- kind: noted
-- eligible: Every division by this service 28 days or more before the cut-off
-- met: An infection noted 0 to 14 days after it and after no later division
-- unknown: None, and nobody heard from the family 5 to 28 days after: no contact, and no feeding check with an answer
-- better: lower
-- grain: division
-- counted_on: the day of the division
-- horizon: 28
-- exact: yes
-- changed: 2026-11-28 A share of every division, with the share heard from beside it; a call on the first days says nothing of infection.
-- source: common practice (redness and oozing are signs of infection), no source
-- published: everyone
-- inside: eligible = checks_before_procedure.eligible; known > complication_needing_care_within_14_days.not_met
SELECT
    case_ref,
    division_id,
    division_date AS index_date,
    CASE
        WHEN infection THEN TRUE
        WHEN heard_from_days_5_to_28 THEN FALSE
    END AS met
FROM own_divisions
WHERE division_date + 28 <= cut_off
