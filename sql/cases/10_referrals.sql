-- unique: referral_id
-- One row a referral for division. The id only tells rows apart; nothing is ordered by it but rows alike in all else.
SELECT
    row_number() OVER (
        ORDER BY
            r.case_ref,
            r.referral_date,
            r.outcome NULLS FIRST,
            r.outcome_date NULLS FIRST,
            r.row_id
    ) AS referral_id,
    [r.row_id] AS row_ids, -- with the load of its case: the row of the export it is
    r.case_ref,
    r.referral_date,
    r.destination,
    r.outcome,
    r.outcome_date
FROM store.referrals AS r
JOIN counting_cases USING (case_ref, load)
