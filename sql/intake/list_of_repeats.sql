-- The list repeats.csv of a load.
SELECT
    file,
    line
FROM store.repeats
WHERE load = $load
ORDER BY file, line
