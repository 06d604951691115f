-- Each text of those columns, and on how many lines it stands.
SELECT
    column_name,
    written,
    count(DISTINCT line) AS lines
FROM texts_read
WHERE list_contains($columns, column_name)
GROUP BY
    column_name,
    written
ORDER BY
    column_name,
    written
