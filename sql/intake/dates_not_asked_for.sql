-- The dates of a sheet's column that would make a row, in lines where the mapping asks for none, for set_aside.
-- Not of lines that are left out on purpose, nor where a word that is left out explains the day: an appointment that was
-- not kept has one. A plain no explains none.
SELECT
    $sheet AS sheet,
    $table AS table_name,
    line,
    last_line,
    '' AS column_name,
    $header AS said_as,
    'value' AS kind,
    fields[$place] AS found,
    $allowed AS allowed,
    'correct the one or the other in the record' AS mend
FROM records
WHERE fields[$place] <> ''
    AND line NOT IN (SELECT line FROM written_rows WHERE list_contains($sheet_tables, sheet_table))
    AND line NOT IN (
        SELECT line
        FROM set_aside
        WHERE sheet = $sheet
            AND table_name = $table
            AND kind = 'row'
            AND row_id IS NULL
    )
    AND line NOT IN (SELECT line FROM left_out_lines WHERE sheet = $sheet)
    AND line NOT IN (SELECT line FROM deciding WHERE list_contains($explaining, [header, part]))
