-- What was set aside of an export, as a part of its load.
INSERT INTO store.set_aside
SELECT
    $load,
    file,
    line,
    last_line,
    table_name,
    column_name,
    said_as,
    kind,
    found,
    allowed,
    mend,
    case_ref
FROM set_aside
JOIN sheets USING (sheet)
ORDER BY
    table_name,
    file,
    line,
    column_name,
    allowed,
    found
