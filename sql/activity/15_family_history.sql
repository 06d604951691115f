-- title: Tongue-tie in the family
-- Of each case first seen.
SELECT
    first_contact_date AS index_date,
    yes_no_of(family_history) AS counted_as
FROM counting_cases
