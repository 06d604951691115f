-- The repeats of an export, as a part of its load.
INSERT INTO store.repeats
SELECT
    $load,
    file,
    line,
    last_line
FROM repeats
JOIN sheets USING (sheet)
ORDER BY
    file,
    line,
    last_line
