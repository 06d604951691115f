-- The lines of a sheet that hold something and of which no row was made, for set_aside: but not where it was said why.
SELECT
    $sheet AS sheet,
    '' AS table_name,
    line,
    last_line,
    '' AS column_name,
    'row' AS kind,
    'nothing in the line makes a row' AS found,
    'a line that the mapping makes a row of' AS allowed,
    'see that the line is complete, and what the mapping asks for' AS mend
FROM records
WHERE len(list_filter(fields, lambda field: field <> '')) > 0
    AND line NOT IN (SELECT line FROM written_rows WHERE list_contains($sheet_tables, sheet_table))
    AND line NOT IN (SELECT line FROM left_out_lines WHERE sheet = $sheet)
    AND line NOT IN (SELECT line FROM set_aside WHERE sheet = $sheet AND kind = 'row')
