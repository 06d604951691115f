-- The sheets of a load, each with '', and their columns, as its files had them; none where the load did not record them.
SELECT
    sheet,
    column_name
FROM store.headings
WHERE load = $load
ORDER BY
    sheet,
    column_name
