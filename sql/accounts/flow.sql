-- The cases first seen in the period, each counted in one cell.
SELECT
    route,
    six_weeks,
    count(*) AS cases
FROM everyone
WHERE period_of(index_date) = $period
GROUP BY
    route,
    six_weeks
ORDER BY
    route,
    six_weeks
