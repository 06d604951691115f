-- title: Feeding pain eased
-- question: Where feeding hurt when we met the family, for how many was it at least two points lower within four weeks?
-- section: feeding
-- kind: proportion
-- eligible: The earliest pain score is 4 or more and within 7 days of first contact, and 28 days have passed since first contact
-- met: The latest score on a later day, within 28 days of first contact, is at least 2 lower
-- unknown: No score on a later day in that time
-- better: higher
-- grain: case
-- counted_on: the day of first contact
-- horizon: 28
-- also_by: route
-- source: numeric rating 0 to 10; the thresholds of 4 and 2 are the project's own
-- published: everyone
-- inside: eligible < days_to_referral.eligible
-- On one day the higher score counts.
WITH scores AS (
    SELECT
        case_ref,
        contact_date,
        max(pain_score) AS pain_score
    FROM contacts
    WHERE pain_score IS NOT NULL
    GROUP BY
        case_ref,
        contact_date
),
first_scores AS (
    SELECT
        case_ref,
        min(contact_date) AS first_date,
        min_by(pain_score, contact_date) AS first_score
    FROM scores
    GROUP BY case_ref
),
in_pain AS (
    SELECT
        c.case_ref,
        c.first_contact_date,
        f.first_date,
        f.first_score
    FROM cases AS c
    JOIN first_scores AS f USING (case_ref)
    WHERE f.first_score >= 4
        AND f.first_date <= c.first_contact_date + 7
        AND c.first_contact_date + 28 <= c.cut_off
),
later_scores AS (
    SELECT
        p.case_ref,
        max_by(s.pain_score, s.contact_date) AS later_score
    FROM in_pain AS p
    JOIN scores AS s -- one to many
        ON s.case_ref = p.case_ref
        AND s.contact_date > p.first_date
        AND s.contact_date <= p.first_contact_date + 28
    GROUP BY p.case_ref
)
SELECT
    p.case_ref,
    p.first_contact_date AS index_date,
    l.later_score <= p.first_score - 2 AS met
FROM in_pain AS p
LEFT JOIN later_scores AS l USING (case_ref)
