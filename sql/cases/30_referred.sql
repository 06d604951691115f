-- One row a referred case: when first, and whether the latest referral is not going ahead.
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
                    ['accepted', 'waiting', '', 'not_indicated', 'declined_by_parent', 'not_brought', 'withdrawn'],
                    coalesce(outcome, '')
                ),
                outcome_date NULLS LAST,
                referral_id
        ) AS place
    FROM referrals
),
earliest AS (
    SELECT
        case_ref,
        min(referral_date) AS referral_date
    FROM referrals
    GROUP BY case_ref
)
SELECT
    e.case_ref,
    e.referral_date,
    coalesce(l.outcome IN ('not_indicated', 'declined_by_parent', 'not_brought', 'withdrawn'), FALSE) AS not_going_ahead,
    CASE WHEN not_going_ahead THEN l.outcome_date END AS not_going_ahead_date
FROM earliest AS e
JOIN latest_first AS l
    ON l.case_ref = e.case_ref
    AND l.place = 1
