-- How many single values were set aside of rows that were kept, and how many rows of lines that gave others which were
-- kept: one row. row_id is NULL for a row that was not made.
WITH rows_aside AS (
    SELECT DISTINCT
        table_name,
        row_id,
        sheet,
        line
    FROM set_aside
    WHERE kind = 'row'
)
SELECT
    (
        SELECT count(*)
        FROM set_aside AS v
        WHERE v.kind = 'value'
            AND NOT EXISTS (SELECT 1 FROM rows_aside AS r WHERE r.table_name = v.table_name AND r.row_id = v.row_id)
    ) AS values_aside,
    (
        SELECT count(DISTINCT (r.table_name, r.row_id, r.sheet, r.line))
        FROM rows_aside AS r
        JOIN line_fates AS f USING (sheet, line)
        WHERE f.fate <> 'set_aside'
    ) AS rows_aside
