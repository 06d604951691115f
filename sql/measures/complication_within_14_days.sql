-- title: Any complication within 14 days, reattachment apart
-- question: After how many divisions was a complication noted within two weeks?
-- section: division
-- kind: proportion
-- eligible: Every procedure 14 days or more before the cut-off
-- met: A complication other than reattachment 0 to 14 days after it
-- unknown: None noted, and nobody saw the family 1 to 14 days after: no contact and no feeding check
-- better: lower
-- grain: procedure
-- counted_on: the day of the procedure
-- horizon: 14
-- exact: yes
-- source: common practice, no published standard; the project's own definition
SELECT
    p.case_ref,
    p.procedure_id,
    p.procedure_date AS index_date,
    CASE
        WHEN n.complication THEN TRUE
        WHEN p.seen_after THEN FALSE
    END AS met
FROM procedures AS p
JOIN noted_within_14_days AS n USING (procedure_id)
