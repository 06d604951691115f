-- title: Bleeding that needed care
-- question: After how many divisions did bleeding need more than pressure or a feed?
-- section: division
-- kind: noted
-- eligible: Every division by this service 28 days or more before the cut-off
-- met: Bleeding that was treated or took the baby to hospital, noted 0 to 14 days after it and after no later division
-- unknown: None such, and there was bleeding whose severity is not recorded, or no bleeding was noted and nobody heard from the family 1 to 28 days after
-- better: lower
-- grain: division
-- counted_on: the day of the division
-- horizon: 28
-- exact: yes
-- own_file: yes
-- changed: 2026-11-28 A share of every division, with the share heard from beside it; bleeding belongs to the latest division before it.
-- source: common practice (a small bleed settles with pressure or feeding), no source
-- published: everyone
-- inside: eligible = checks_before_procedure.eligible; met < complication_needing_care_within_14_days.met; not_met > complication_needing_care_within_14_days.not_met
SELECT
    case_ref,
    division_id,
    division_date AS index_date,
    CASE
        WHEN bleeding_needed_care THEN TRUE
        WHEN bleeding_of_unknown_severity THEN NULL
        WHEN bleeding OR heard_from_days_1_to_28 THEN FALSE
    END AS met
FROM own_divisions
WHERE division_date + 28 <= cut_off
