-- The lines of a sheet that cannot be read as a row, for set_aside.
SELECT
    $sheet AS sheet,
    $table AS table_name,
    line,
    last_line,
    '' AS column_name,
    'row' AS kind,
    found,
    allowed,
    'mend the line in the file, or export it again' AS mend
FROM damaged_lines
