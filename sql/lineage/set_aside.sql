-- What was set aside of the traced cases, in the load each counts from: a whole row, or a single value of one.
-- A line that gave no row at all (of a mapped sheet) is not among them: it is of no table.
SELECT
    s.case_ref,
    s.table_name,
    s.file,
    s.line,
    s.kind,
    s.column_name,
    s.found
FROM store.set_aside AS s
JOIN counting_versions AS c USING (case_ref, load)
WHERE s.case_ref IN (SELECT case_ref FROM traced)
    AND s.table_name <> ''
ORDER BY
    s.case_ref,
    s.table_name,
    s.file,
    s.line,
    s.kind,
    s.column_name,
    s.found
