-- One row a file of a load in force: what became of its lines.
SELECT
    load,
    file,
    lines,
    header,
    blank,
    accepted,
    set_aside,
    repeats,
    left_out
FROM store.files
JOIN loads_in_force USING (load)
ORDER BY
    load,
    file
