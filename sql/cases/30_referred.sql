-- unique: case_ref
-- One row a referred case: when first, and why the latest referral is not going ahead, if it is not.
-- Of two referrals on the latest day the one still open counts, in the order below; of two with one outcome the one
-- with the earliest outcome date, one without a date last.
WITH latest_first AS (
    SELECT
        case_ref,
        outcome,
        outcome_date,
        row_number() OVER (
            PARTITION BY case_ref
            ORDER BY
                referral_date DESC,
                list_position(
                    [
                        'accepted', 'waiting', '', -- still open
                        'not_indicated', 'declined_by_parent', 'not_brought', 'divided_elsewhere', 'withdrawn'
                    ],
                    coalesce(outcome, '')
                ),
                outcome_date NULLS LAST,
                referral_id
        ) AS place
    FROM referrals
),
both_ends AS (
    SELECT
        case_ref,
        min(referral_date) AS referral_date,
        max(referral_date) AS latest_referral_date
    FROM referrals
    GROUP BY case_ref
)
SELECT
    e.case_ref,
    e.referral_date,
    e.latest_referral_date,
    -- Undated it is still not going ahead, but ends no wait.
    CASE WHEN l.outcome NOT IN ('accepted', 'waiting') THEN l.outcome END AS not_going_ahead,
    CASE WHEN not_going_ahead IS NOT NULL THEN l.outcome_date END AS not_going_ahead_date
FROM both_ends AS e
JOIN latest_first AS l
    ON l.case_ref = e.case_ref
    AND l.place = 1
