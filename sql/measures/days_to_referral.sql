-- title: Referred within {reported_day} days of first contact
-- question: How soon after first contact were babies referred for division, allowing for those divided without a referral?
-- section: waiting
-- kind: time_to_event
-- eligible: Every case
-- met: Referred within {reported_day} days of first contact
-- unknown: Neither referred nor divided before a referral, and watched for less than 28 days; a division before a referral, or a death, is the competing event, and counts as known
-- in_a_sentence: first seen; referred; divided without being referred; neither by then
-- better: none
-- grain: case
-- counted_on: the day of first contact
-- horizon: 28
-- changed: 2026-11-28 The problem being resolved no longer ends the wait: a quarter of those once resolved are referred after all.
-- source: common practice, no published standard; the project's own definition
-- published: eligible
-- never: age_band not_recorded
-- event 1: referred; 2: divided before a referral or without one, or died; 0: neither, for as long as the case was watched.
-- An event after the end of follow-up does not count; one after the days a wait is followed is cut off there. Follow-up that ended, or a
-- death, before first contact: the case is eligible, its wait is unknown, and it has no days.
WITH watched AS (
    SELECT
        case_ref,
        first_contact_date AS index_date,
        least(end_of_follow_up - first_contact_date, followed_days()) AS watched_days,
        referral_date - first_contact_date AS referral_days,
        least(
            CASE
                WHEN referral_date IS NULL OR first_division_date < referral_date
                    THEN first_division_date - first_contact_date
            END,
            died_on - first_contact_date
        ) AS ended_days,
        least(end_of_follow_up, died_on) >= first_contact_date AS was_watched
    FROM cases
)
SELECT
    case_ref,
    index_date,
    CASE WHEN was_watched THEN least(watched_days, referral_days, ended_days) END AS days,
    CASE WHEN was_watched THEN what_came_first(watched_days, referral_days, ended_days) ELSE 0 END AS event
FROM watched
