-- title: Bleeding that needed care
-- question: After how many divisions did bleeding need more than pressure or a feed?
-- section: division
-- kind: proportion
-- eligible: Every procedure 14 days or more before the cut-off
-- met: Bleeding that was treated or took the baby to hospital, 0 to 14 days after it
-- unknown: None such, and there was bleeding whose severity is not recorded, or no bleeding was noted and nobody saw the family 1 to 14 days after
-- better: lower
-- grain: procedure
-- counted_on: the day of the procedure
-- horizon: 14
-- exact: yes
-- source: common practice (a small bleed settles with pressure or feeding), no source
SELECT
    p.case_ref,
    p.procedure_id,
    p.procedure_date AS index_date,
    CASE
        WHEN n.bleeding_needed_care THEN TRUE
        WHEN n.bleeding_of_unknown_severity THEN NULL
        WHEN n.bleeding OR p.seen_after THEN FALSE
    END AS met
FROM procedures AS p
JOIN noted_within_14_days AS n USING (procedure_id)
