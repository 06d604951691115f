-- One row a load, table, column (as its sheet calls it, and as the layout does) and rule: how many rows or values it
-- set aside. Only of the newest load in force of each source: what an older one had set aside has been mended since, or
-- is set aside again.
SELECT
    load,
    table_name AS "table",
    said_as AS "column",
    column_name AS layout_column,
    kind,
    allowed,
    count(*) AS count
FROM store.set_aside
JOIN newest_loads USING (load)
GROUP BY
    load,
    table_name,
    said_as,
    column_name,
    kind,
    allowed
ORDER BY
    load,
    table_name,
    said_as,
    column_name,
    kind,
    allowed
