-- Each text of a column, and on how many lines it stands.
SELECT
    written,
    count(DISTINCT line) AS lines
FROM texts_read
WHERE column_name = $column
GROUP BY written
ORDER BY written
