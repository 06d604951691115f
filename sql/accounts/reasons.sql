-- One row a load, table, column and rule: how many rows or values it set aside. Only of the newest load in force of each
-- source: what an older one had set aside has been mended since, or is set aside again.
SELECT
    load,
    table_name AS "table",
    said_as AS "column",
    kind,
    allowed,
    count(*) AS count
FROM store.set_aside
JOIN newest_loads USING (load)
GROUP BY
    load,
    table_name,
    said_as,
    kind,
    allowed
ORDER BY
    load,
    table_name,
    said_as,
    kind,
    allowed
