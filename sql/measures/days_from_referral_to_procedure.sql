-- title: Divided within {reported_day} days of referral
-- question: How long did referred babies wait for division by this service, allowing for those divided elsewhere or not at all?
-- section: waiting
-- kind: time_to_event
-- eligible: Every referred case
-- met: Divided by this service within {reported_day} days of referral
-- unknown: Neither divided nor not going ahead, and watched for less than 28 days; a division elsewhere, a division that is not going ahead, or a death, is the competing event, and counts as known
-- in_a_sentence: referred; divided; not going ahead or divided elsewhere; still waiting then
-- better: shorter
-- grain: case
-- counted_on: the day of the earliest referral
-- horizon: 28
-- changed: 2026-11-28 A wait that ends with a division elsewhere or a death is allowed for; one still running on day 28 is known to be.
-- source: common practice, no published standard; the project's own definition
-- published: yes
-- never: age_band not_recorded
-- event 1: divided by this service; 2: divided elsewhere; not going ahead, if dated and strictly before every division of
-- the case, those before the referral included; or died; 0: still waiting for as long as the case was watched.
-- Follow-up that ended, or a death, before the referral: the case is eligible, its wait is unknown, and it has no days.
WITH watched AS (
    SELECT
        case_ref,
        referral_date AS index_date,
        least(end_of_follow_up - referral_date, followed_days()) AS watched_days,
        own_division_after_referral_date - referral_date AS division_days,
        least(
            division_elsewhere_after_referral_date,
            CASE
                WHEN first_division_date IS NULL OR not_going_ahead_date < first_division_date THEN not_going_ahead_date
            END,
            died_on
        ) - referral_date AS ended_days,
        least(end_of_follow_up, died_on) >= referral_date AS was_watched
    FROM cases
    WHERE referral_date IS NOT NULL
)
SELECT
    case_ref,
    index_date,
    CASE WHEN was_watched THEN least(watched_days, division_days, ended_days) END AS days,
    CASE WHEN was_watched THEN what_came_first(watched_days, division_days, ended_days) ELSE 0 END AS event
FROM watched
