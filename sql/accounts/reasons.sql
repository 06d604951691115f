-- One row a load, table, column and rule: how many rows or values it set aside.
SELECT
    load,
    table_name AS "table",
    column_name AS "column",
    kind,
    allowed,
    count(*) AS count
FROM store.set_aside
GROUP BY
    load,
    table_name,
    column_name,
    kind,
    allowed
ORDER BY
    load,
    table_name,
    column_name,
    kind,
    allowed
