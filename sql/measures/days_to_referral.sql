-- title: Days from first contact to referral
-- question: How soon after first contact were babies referred for division, allowing for those whose problem was resolved first?
-- section: waiting
-- kind: time_to_event
-- eligible: Every case
-- met: Referred within 84 days of first contact
-- unknown: Neither referred nor resolved by the end of follow-up or day 84; the problem resolved before a referral is the competing event, and counts as known
-- better: none
-- grain: case
-- counted_on: the day of first contact
-- horizon: 0
-- source: common practice, no published standard; the project's own definition
-- event 1: referred; 2: the problem was resolved first; 0: neither, for as long as the case was watched.
-- An event after the end of follow-up does not count; one after day 84 is cut off at 84.
WITH watched AS (
    SELECT
        case_ref,
        first_contact_date AS index_date,
        least(end_of_follow_up - first_contact_date, 84) AS watched_days,
        referral_date - first_contact_date AS referral_days,
        resolved_date - first_contact_date AS resolved_days
    FROM cases
)
SELECT
    case_ref,
    index_date,
    CASE WHEN watched_days >= 0 THEN least(watched_days, referral_days, resolved_days) END AS days,
    CASE
        WHEN resolved_days <= watched_days THEN 2 -- a resolved date is always before a referral
        WHEN referral_days <= watched_days THEN 1
        ELSE 0
    END AS event
FROM watched
