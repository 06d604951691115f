-- unique: case_ref
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
                abs(f.check_date - w.six_week_date),
                f.check_date DESC,
                most_milk_first(f.feeding),
                yes_first(f.at_breast)
        ) AS place
    FROM feeding_checks AS f
    JOIN six_week_window AS w USING (case_ref)
    WHERE f.feeding IS NOT NULL
        AND f.check_date BETWEEN w.first_day AND w.last_day
)
SELECT
    case_ref,
    feeding AS six_week_feeding,
    at_breast AS six_week_at_breast
FROM answers
WHERE place = 1
