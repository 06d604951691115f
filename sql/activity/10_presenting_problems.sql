-- title: Why families came
-- published: yes
-- inside: total = days_to_referral.eligible
-- Of each case first seen: whether each presenting problem was recorded, and how.
SELECT
    c.first_contact_date AS index_date,
    p.problem || ': ' || yes_no_of(p.present) AS counted_as
FROM counting_cases AS c
CROSS JOIN LATERAL ( -- one to many: a row a problem
    VALUES
        ('nipple_pain', c.nipple_pain),
        ('nipple_damage', c.nipple_damage),
        ('poor_weight_gain', c.poor_weight_gain),
        ('very_frequent_feeds', c.very_frequent_feeds),
        ('unsettled_at_breast', c.unsettled_at_breast),
        ('wind', c.wind),
        ('bringing_up_milk', c.bringing_up_milk)
) AS p (problem, present)
