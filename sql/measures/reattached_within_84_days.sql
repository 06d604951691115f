-- title: Reattached within 84 days
-- question: After how many first divisions did the tongue reattach, or was it divided again, within twelve weeks?
-- section: division
-- kind: noted
-- eligible: The first division of a case by this service, 84 days or more before the cut-off
-- met: Reattachment noted 1 to 84 days after it, or a division by anyone on a later day within 84 days
-- unknown: None, and nobody heard from the family 28 to 84 days after: no contact, and no feeding check with an answer
-- better: lower
-- grain: division
-- counted_on: the day of the first division by this service
-- horizon: 84
-- exact: yes
-- own_file: yes
-- changed: 2026-11-28 New: most reattachment shows after the second week.
-- source: common practice, no published standard; the project's own definition
-- published: everyone
-- inside: eligible < checks_before_procedure.eligible
WITH again AS (
    SELECT case_ref, noted_date AS day FROM complications WHERE kind = 'reattachment'
    UNION
    SELECT case_ref, division_date FROM divisions
)
SELECT
    d.case_ref,
    d.division_id,
    d.division_date AS index_date,
    CASE
        WHEN EXISTS (
            SELECT 1
            FROM again AS a
            WHERE a.case_ref = d.case_ref
                AND a.day - d.division_date BETWEEN 1 AND 84
        ) THEN TRUE
        WHEN d.heard_from_days_28_to_84 THEN FALSE
    END AS met
FROM own_divisions AS d
WHERE d.is_first
    AND d.division_date + 84 <= d.cut_off
