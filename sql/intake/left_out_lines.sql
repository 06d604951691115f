-- The lines of a sheet that the mapping leaves out on purpose: what decides says so, and they give no row.
SELECT DISTINCT
    $sheet AS sheet,
    line,
    last_line
FROM deciding
WHERE is_left_out
    AND line NOT IN (SELECT line FROM written_rows WHERE list_contains($sheet_tables, sheet_table))
