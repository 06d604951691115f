-- Every row of each case that counts as an older load has it, though the newest load in force of its source covers its
-- time (it holds a case first seen no later) and neither carries it nor set it aside: deleted at source, as it seems.
WITH covered AS (
    SELECT
        n.source,
        n.load AS newest,
        min(c.first_contact_date) AS first_day
    FROM newest_loads AS n
    JOIN store.cases AS c USING (load)
    GROUP BY
        n.source,
        n.load
)
SELECT
    r."table",
    CAST(r.fields ->> 'row_id' AS BIGINT) AS row_id,
    c.case_ref,
    c.load,
    r.fields ->> 'file' AS file,
    CAST(r.fields ->> 'line' AS BIGINT) AS line,
    v.newest
FROM counting_cases AS c
JOIN loads_in_force AS l USING (load)
JOIN covered AS v USING (source)
JOIN layout_rows AS r -- several rows a case
    ON r.load = c.load
        AND r.case_ref = c.case_ref
WHERE c.load <> v.newest
    AND c.first_contact_date >= v.first_day
    AND NOT EXISTS (
        SELECT 1
        FROM store.set_aside AS s
        WHERE s.load = v.newest
            AND s.table_name = 'cases'
            AND s.kind = 'row'
            AND s.case_ref = c.case_ref
    )
ORDER BY
    c.case_ref,
    r."table",
    row_id
