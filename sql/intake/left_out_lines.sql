-- The lines of a sheet that the mapping leaves out on purpose: what decides says so, and they give no row.
SELECT
    $sheet AS sheet,
    line,
    last_line
FROM records
WHERE list_contains($leave_out, fields[$place])
    AND line NOT IN (SELECT line FROM written_rows WHERE list_contains($sheet_tables, sheet_table))
