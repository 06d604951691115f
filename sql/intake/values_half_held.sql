-- The lines in which a value is to make a row and made none, because another condition does not hold that nothing says
-- on purpose, for set_aside. Where a part decided by the same columns made a row, the line is read as that part says.
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
    'complete it in the record, or say in the mapping what such a line means: is_empty, leave_out' AS mend,
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
