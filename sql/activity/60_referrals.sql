-- title: Referrals for division
-- Each referral once by where it went, and once by what became of it.
SELECT
    referral_date AS index_date,
    'destination: ' || level_of(destination) AS counted_as
FROM referrals
UNION ALL
SELECT
    referral_date AS index_date,
    'outcome: ' || level_of(outcome) AS counted_as
FROM referrals
