-- title: Birth weight regained by 21 days
-- question: Of the babies seen by three weeks of age, how many were back at their birth weight by then?
-- section: feeding
-- kind: proportion
-- eligible: Birth weight recorded, first contact by 21 days of age, and 21 days old by the cut-off
-- met: A weight at or above birth weight at a contact from 5 to 21 days of age
-- unknown: No such weight, and no weight at a contact from 14 to 21 days of age
-- better: higher
-- grain: case
-- counted_on: the day the baby was 21 days old
-- horizon: 0
-- also_by: route
-- source: NICE NG75, faltering growth: most babies regain their birth weight by 3 weeks
-- published: everyone
WITH weighed AS (
    SELECT
        c.case_ref,
        c.birth_date + 21 AS index_date,
        bool_or(k.weight_g >= c.birth_weight_g) AS regained,
        bool_or(k.contact_date >= c.birth_date + 14) AS weighed_late_enough
    FROM cases AS c
    LEFT JOIN contacts AS k -- one to many
        ON k.case_ref = c.case_ref
        AND k.weight_g IS NOT NULL
        AND k.contact_date - c.birth_date BETWEEN 5 AND 21
    WHERE c.birth_weight_g IS NOT NULL
        AND c.first_contact_date <= c.birth_date + 21
        AND c.birth_date + 21 <= c.cut_off
    GROUP BY
        c.case_ref,
        c.birth_date
)
SELECT
    case_ref,
    index_date,
    CASE
        WHEN regained THEN TRUE
        WHEN weighed_late_enough THEN FALSE
    END AS met
FROM weighed
