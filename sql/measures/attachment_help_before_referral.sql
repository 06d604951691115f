-- title: Attachment help before referral
-- question: Of the babies referred for division, how many had help with positioning and attachment on an earlier day?
-- section: help_first
-- kind: proportion
-- eligible: Every referred case
-- met: A contact that gave attachment help on a day before the referral, or skilled help elsewhere before this service first saw them
-- unknown: No such contact, but one on an earlier day did not record whether help was given (no earlier contact at all is not met)
-- better: higher
-- grain: case
-- counted_on: the day of the earliest referral
-- horizon: 0
-- changed: 2026-11-28 Skilled help elsewhere before first contact counts.
-- source: common practice (help with positioning and attachment comes first), no published standard
-- published: yes
-- inside: eligible = days_from_referral_to_procedure.eligible
-- never: age_band not_recorded
-- Help on the day of the referral itself did not come before it; it is counted apart.
WITH earlier_contacts AS (
    SELECT
        c.case_ref,
        bool_or(coalesce(k.attachment_help, FALSE)) AS helped,
        bool_or(k.attachment_help IS NULL) AS not_recorded
    FROM cases AS c
    JOIN contacts AS k -- one to many
        ON k.case_ref = c.case_ref
        AND k.contact_date < c.referral_date
    GROUP BY c.case_ref
)
SELECT
    c.case_ref,
    c.referral_date AS index_date,
    CASE
        WHEN e.helped OR c.helped_elsewhere_before THEN TRUE
        WHEN e.not_recorded THEN NULL
        ELSE FALSE
    END AS met
FROM cases AS c
LEFT JOIN earlier_contacts AS e USING (case_ref)
WHERE c.referral_date IS NOT NULL
