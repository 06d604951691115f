-- title: Family felt helped
-- question: Of the families we met, how many said that they felt helped?
-- section: feeding
-- kind: proportion
-- eligible: Every case, and 84 days have passed since first contact; not closed as died
-- met: The family's latest answer within 84 days of first contact is yes (of two on one day no counts before partly, and that before yes)
-- unknown: No answer recorded in that time
-- better: higher
-- grain: case
-- counted_on: the day of first contact
-- horizon: 84
-- own_file: yes
-- changed: 2026-11-28 New.
-- source: the service's own question; common practice, no published standard
-- published: yes
-- inside: eligible < days_to_referral.eligible
-- never: age_band not_recorded
WITH latest_answer AS (
    SELECT
        c.case_ref,
        max_by(v.helped, (v.answered_date, list_position(['yes', 'partly', 'no'], v.helped))) AS helped
    FROM cases AS c
    JOIN family_views AS v -- one to many
        ON v.case_ref = c.case_ref
        AND v.answered_date - c.first_contact_date BETWEEN 0 AND 84
    GROUP BY c.case_ref
)
SELECT
    c.case_ref,
    c.first_contact_date AS index_date,
    a.helped = 'yes' AS met
FROM cases AS c
LEFT JOIN latest_answer AS a USING (case_ref)
WHERE c.first_contact_date + 84 <= c.cut_off
    AND c.closed_reason IS DISTINCT FROM 'died'
