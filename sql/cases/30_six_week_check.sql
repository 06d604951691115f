-- One row a case with an answer at 5 to 8 weeks of age: the one nearest to six weeks.
-- Equally near: the later. On one day the most breast milk, then at the breast yes before no before nothing recorded.
WITH answers AS (
    SELECT
        f.case_ref,
        f.feeding,
        f.at_breast,
        row_number() OVER (
            PARTITION BY f.case_ref
            ORDER BY
                abs(f.check_date - (c.first_contact_date - c.age_days + 42)),
                f.check_date DESC,
                most_milk_first(f.feeding),
                yes_first(f.at_breast)
        ) AS place
    FROM feeding_checks AS f
    JOIN counting_cases AS c USING (case_ref)
    WHERE f.feeding IS NOT NULL
        AND f.check_date - (c.first_contact_date - c.age_days) BETWEEN 35 AND 56
)
SELECT
    case_ref,
    feeding AS six_week_feeding,
    at_breast AS six_week_at_breast
FROM answers
WHERE place = 1
