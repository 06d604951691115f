-- kind: value
-- allowed: a day on or after referral_date
-- mend: correct outcome_date or referral_date in the record
-- why: days in an order that cannot be
SELECT
    'referrals' AS table_name,
    'outcome_date' AS column_name,
    row_id,
    outcome_date || ', before referral_date ' || referral_date AS found
FROM staged_referrals
WHERE outcome_date < referral_date
