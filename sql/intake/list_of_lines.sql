-- The list lines.csv of a load: one row a sheet.
SELECT
    file,
    lines,
    header,
    blank,
    accepted,
    set_aside,
    repeats,
    left_out
FROM store.files
WHERE load = $load
ORDER BY file
