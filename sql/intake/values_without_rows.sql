-- The lines in which a value of a column that decides rows made none and nothing says that it is on purpose, for
-- set_aside: a value that the mapping lists nowhere, or one that is to make a row where another condition does not hold.
-- Where a part decided by the same columns made a row, the line is read as that part says. No row was made of it, so it
-- says itself whose it is.
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
    $mend AS mend,
    CASE WHEN fields[$case_place] <> '' THEN $prefix || fields[$case_place] ELSE '' END AS case_ref
FROM deciding AS d
JOIN records USING (line)
WHERE header = $header
    AND list_contains($values, part) <> $is_other
    AND NOT is_left_out
    AND line NOT IN (SELECT line FROM written_rows WHERE list_contains($sheet_tables, sheet_table))
    AND line NOT IN (SELECT line FROM deciding WHERE is_left_out AND list_contains($others, header))
    AND line NOT IN (
        SELECT line
        FROM set_aside
        WHERE sheet = $sheet
            AND table_name = $table
            AND kind = 'row'
            AND row_id IS NULL
            AND list_contains($others, said_as)
    )
