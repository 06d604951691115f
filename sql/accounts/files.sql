-- The files of the loads that count.
SELECT
    load,
    file,
    sha256,
    lines
FROM store.files
JOIN loads_in_force USING (load)
ORDER BY
    load,
    file
