-- What a sheet's column that decides whether a row is made holds, where the mapping lists it nowhere, for set_aside: one
-- row a line and value. No row was made of it, so it says itself whose it is.
SELECT
    $sheet AS sheet,
    $table AS table_name,
    line,
    d.last_line,
    '' AS column_name,
    header AS said_as,
    'row' AS kind,
    part AS found,
    $allowed AS allowed,
    'correct it in the record, or list it in the mapping: in is if it makes a row, in leave_out if not' AS mend,
    CASE WHEN fields[$case_place] <> '' THEN $prefix || fields[$case_place] ELSE '' END AS case_ref
FROM deciding AS d
JOIN records USING (line)
WHERE header = $header
    AND NOT list_contains($listed, part)
