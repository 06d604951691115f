-- One row a file of a load: what became of its lines.
SELECT
    load,
    file,
    lines,
    header,
    blank,
    accepted,
    set_aside,
    repeats
FROM store.files
ORDER BY
    load,
    file
