-- title: Born weighing under 2,500 g
-- Of each case first seen.
SELECT
    first_contact_date AS index_date,
    yes_no_of(birth_weight_g < 2500) AS counted_as
FROM counting_cases
