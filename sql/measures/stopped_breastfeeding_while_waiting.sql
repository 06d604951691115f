-- title: Stopped breastfeeding while waiting
-- question: Of the babies breastfed at first contact and referred, how many were no longer breastfed by the end of the wait?
-- section: waiting
-- kind: proportion
-- eligible: Referred, breastfed at first contact, and the wait has ended by the cut-off: at division, when known not to go ahead, or after 84 days
-- met: The latest answer about feeding from the referral to the end of the wait is no breast milk
-- unknown: No answer about feeding was recorded in that time
-- better: lower
-- grain: case
-- counted_on: the day of the earliest referral
-- horizon: 84
-- source: common practice, no published standard; the project's own definition
-- The wait ends at the first procedure on or after the referral, when it is known not to go ahead, or after 84 days.
-- Closing the case does not end it.
WITH waits AS (
    SELECT
        case_ref,
        referral_date,
        least(procedure_after_referral_date, not_going_ahead_date, referral_date + 84) AS wait_end
    FROM cases
    WHERE referral_date IS NOT NULL
        AND breastfed(feeding_at_first_contact)
        AND wait_end <= cut_off
),
latest_answer AS (
    SELECT
        w.case_ref,
        max_by(f.feeding, (f.check_date, -most_milk_first(f.feeding))) AS feeding
    FROM waits AS w
    JOIN feeding_checks AS f -- one to many
        ON f.case_ref = w.case_ref
        AND f.check_date BETWEEN w.referral_date AND w.wait_end
        AND f.feeding IS NOT NULL
    GROUP BY w.case_ref
)
SELECT
    w.case_ref,
    w.referral_date AS index_date,
    a.feeding = 'none' AS met
FROM waits AS w
LEFT JOIN latest_answer AS a USING (case_ref)
