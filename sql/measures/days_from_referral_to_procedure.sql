-- title: Days from referral to division
-- question: How long did referred babies wait for division, allowing for those whose division did not go ahead?
-- section: waiting
-- kind: time_to_event
-- eligible: Every referred case
-- met: Divided within 84 days of referral
-- unknown: Neither divided nor not going ahead by the end of follow-up or day 84; a division that is not going ahead is the competing event, and counts as known
-- better: shorter
-- grain: case
-- counted_on: the day of the earliest referral
-- horizon: 0
-- source: common practice, no published standard; the project's own definition
-- event 1: divided; 2: not going ahead, if dated and strictly before every procedure of the case, those before the
-- referral included; 0: still waiting for as long as the case was watched.
-- Follow-up that ended before the referral: the case is eligible, its wait is unknown, and it has no days.
WITH watched AS (
    SELECT
        case_ref,
        referral_date AS index_date,
        least(end_of_follow_up - referral_date, 84) AS watched_days,
        procedure_after_referral_date - referral_date AS procedure_days,
        CASE
            WHEN first_procedure_date IS NULL OR not_going_ahead_date < first_procedure_date
                THEN not_going_ahead_date - referral_date
        END AS not_going_ahead_days
    FROM cases
    WHERE referral_date IS NOT NULL
)
SELECT
    case_ref,
    index_date,
    CASE WHEN watched_days >= 0 THEN least(watched_days, procedure_days, not_going_ahead_days) END AS days,
    CASE
        WHEN not_going_ahead_days <= watched_days THEN 2
        WHEN procedure_days <= watched_days THEN 1
        ELSE 0
    END AS event
FROM watched
