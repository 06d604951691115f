-- title: Waited longest for division
-- why: The five longest waits from referral to division that were running in the period or ended in it, longest first; more than five where several waited equally long. A wait that was still running is counted up to the last day of the period, or as far as the case was followed; one that is not going ahead, on a day that is not recorded, is left out. The day is that of the referral. The practitioner is the lead practitioner.
-- A wait ends as in the measure of these waits: with a division, by anyone, or with not going ahead if dated and strictly
-- before every division of the case; what comes after the end of follow-up does not count.
WITH asked AS (
    SELECT
        first_day_of($period) AS first_day,
        last_day_of($period) AS last_day
),
ends AS (
    SELECT
        c.case_ref,
        c.lead_practitioner,
        c.referral_date,
        c.end_of_follow_up,
        c.end_of_follow_up < c.cut_off AS left_before,
        c.division_after_referral_date AS divided_on,
        CASE
            WHEN c.first_division_date IS NULL OR c.not_going_ahead_date < c.first_division_date
                THEN c.not_going_ahead_date
        END AS not_going_ahead_on
    FROM cases AS c
    ANTI JOIN died USING (case_ref)
    WHERE c.referral_date <= c.end_of_follow_up
        -- Not going ahead, nobody knows since when: the measure watches on, but nobody waits.
        AND NOT (c.not_going_ahead IS NOT NULL AND c.not_going_ahead_date IS NULL AND c.division_after_referral_date IS NULL)
),
waits AS (
    SELECT
        e.*,
        least(e.divided_on, e.not_going_ahead_on, e.end_of_follow_up, q.last_day) AS watched_until
    FROM ends AS e
    CROSS JOIN asked AS q
    WHERE e.referral_date <= q.last_day
        AND least(e.divided_on, e.not_going_ahead_on, e.end_of_follow_up) >= q.first_day
),
placed AS (
    SELECT
        *,
        watched_until - referral_date AS days,
        rank() OVER (ORDER BY watched_until - referral_date DESC) AS place
    FROM waits
)
SELECT
    case_ref,
    lead_practitioner AS practitioner,
    referral_date AS day,
    days || CASE WHEN days = 1 THEN ' day' ELSE ' days' END || CASE
        WHEN not_going_ahead_on = watched_until THEN ', then not going ahead'
        WHEN divided_on = watched_until THEN ', then divided'
        WHEN left_before AND end_of_follow_up = watched_until THEN ', then closed here'
        ELSE ', still waiting'
    END || ' on ' || strftime(watched_until, '%-d %B %Y') AS detail
FROM placed
WHERE place <= 5
ORDER BY
    place,
    referral_date,
    case_ref
