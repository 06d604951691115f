-- The practitioner's own rows of every measure, up to $last: those of the twelve months up to it, and all of them.
WITH own AS (
    SELECT
        measure,
        index_date,
        met
    FROM broken_down
    WHERE practitioner = $code
        AND index_date <= $last
),
spans AS (
    SELECT 'year' AS span, $year_before AS after
    UNION ALL
    SELECT 'all', DATE '0001-01-01'
)
SELECT
    o.measure,
    s.span,
    count(*) AS eligible,
    count(o.met) AS known,
    count(*) FILTER (WHERE o.met) AS met
FROM own AS o
JOIN spans AS s ON o.index_date > s.after -- one to many: a row of the year is one of all too
GROUP BY
    o.measure,
    s.span
ORDER BY
    o.measure,
    s.span
