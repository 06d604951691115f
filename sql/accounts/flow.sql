-- The cases first seen in the quarter, each counted in one cell.
SELECT
    route,
    six_weeks,
    count(*) AS cases
FROM everyone
WHERE quarter_of(index_date) = $quarter
GROUP BY
    route,
    six_weeks
ORDER BY
    route,
    six_weeks
