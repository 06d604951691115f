-- What a check found, with the lines of the rows, for set_aside.
SELECT
    table_name,
    row_id,
    line,
    last_line,
    column_name,
    $kind AS kind,
    found,
    $allowed AS allowed,
    $mend AS mend
FROM broken
JOIN staged_rows USING (table_name, row_id)
