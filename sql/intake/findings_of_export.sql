-- Every finding of the export on the connection, as a person is told of it.
SELECT
    table_name,
    file,
    line,
    case_ref,
    said_as,
    kind,
    found,
    allowed,
    mend
FROM set_aside
JOIN sheets USING (sheet)
ORDER BY file, line, kind, said_as, allowed, found
