-- title: Who sent them
-- published: yes
-- inside: total = days_to_referral.eligible
-- Of each case first seen.
SELECT
    first_contact_date AS index_date,
    level_of(referral_source) AS counted_as
FROM counting_cases
