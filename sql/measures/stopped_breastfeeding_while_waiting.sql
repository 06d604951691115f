-- title: Stopped breastfeeding while waiting
-- question: Of the babies breastfed at first contact and referred, how many were no longer breastfed by the end of the wait?
-- section: waiting
-- kind: proportion
-- eligible: Referred 84 days or more before the cut-off, breastfed at first contact and at the latest answer before the referral, if there is one; not closed as died
-- met: The latest answer about feeding from the referral to the end of the wait is no breast milk
-- unknown: No answer about feeding was recorded in that time
-- better: lower
-- grain: case
-- counted_on: the day of the earliest referral
-- horizon: 84
-- changed: 2026-11-28 Waits for the whole of the 84 days, so that short waits do not come in first; who had stopped before the referral did not stop while waiting.
-- source: common practice, no published standard; the project's own definition
-- published: everyone
-- inside: eligible < days_from_referral_to_procedure.eligible
-- The wait ends at the first division, by anyone, on or after the referral, when it is known not to go ahead, or after 84
-- days. Closing the case does not end it.
WITH answers AS (
    SELECT
        case_ref,
        check_date,
        feeding,
        (check_date, -most_milk_first(feeding)) AS place -- the latest; on one day the most breast milk
    FROM feeding_checks
    WHERE feeding IS NOT NULL
),
waits AS (
    SELECT
        c.case_ref,
        c.referral_date,
        least(c.division_after_referral_date, c.not_going_ahead_date, c.referral_date + 84) AS wait_end,
        max_by(a.feeding, a.place) AS feeding_before
    FROM cases AS c
    LEFT JOIN answers AS a -- one to many
        ON a.case_ref = c.case_ref
        AND a.check_date < c.referral_date
    WHERE c.referral_date + 84 <= c.cut_off
        AND breastfed(c.feeding_at_first_contact)
        AND c.closed_reason IS DISTINCT FROM 'died'
    GROUP BY
        c.case_ref,
        c.referral_date,
        c.division_after_referral_date,
        c.not_going_ahead_date
),
latest_answer AS (
    SELECT
        w.case_ref,
        max_by(a.feeding, a.place) AS feeding
    FROM waits AS w
    JOIN answers AS a -- one to many
        ON a.case_ref = w.case_ref
        AND a.check_date BETWEEN w.referral_date AND w.wait_end
    GROUP BY w.case_ref
)
SELECT
    w.case_ref,
    w.referral_date AS index_date,
    a.feeding = 'none' AS met
FROM waits AS w
LEFT JOIN latest_answer AS a USING (case_ref)
WHERE w.feeding_before IS DISTINCT FROM 'none'
