-- The list set_aside.csv of a load.
SELECT
    file,
    line,
    last_line,
    table_name AS "table",
    said_as AS "column",
    kind,
    found,
    allowed,
    mend
FROM store.set_aside
WHERE load = $load
ORDER BY file, line, said_as, allowed, found
