-- The tables that some sheet gives, and of which no row was made, in the order of the layout.
SELECT t.table_name
FROM sheet_tables AS t
WHERE t.table_name NOT IN (SELECT table_name FROM staged_rows)
GROUP BY t.table_name
ORDER BY min(t.sheet_table)
