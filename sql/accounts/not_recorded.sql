-- For every optional column of the layout, $columns of $tables, and every site: the rows of the cases first seen in the
-- period, and in how many of them nothing is recorded.
WITH seen AS (
    SELECT
        case_ref,
        load,
        level_of(recorded(site)) AS site
    FROM counting_cases
    WHERE period_of(first_contact_date) = $period
),
written AS (
    SELECT
        r."table",
        seen.site,
        r.fields
    FROM layout_rows AS r
    JOIN seen USING (case_ref, load)
),
asked AS (
    SELECT
        unnest($tables) AS "table",
        unnest($columns) AS "column",
        unnest(range(len($columns))) AS place
)
SELECT
    a."table",
    a."column",
    w.site,
    count(*) AS rows,
    count(*) - count(recorded(w.fields ->> a."column")) AS not_recorded
FROM written AS w
JOIN asked AS a ON a."table" = w."table" -- one to many
GROUP BY
    a.place,
    a."table",
    a."column",
    w.site
ORDER BY
    a.place,
    w.site
