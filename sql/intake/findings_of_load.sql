-- Every finding of a load in the store, as a person is told of it.
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
FROM store.set_aside
WHERE load = $load
ORDER BY file, line, kind, said_as, allowed, found
