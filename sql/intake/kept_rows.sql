-- Every row that no rule set aside, and what becomes of it: of equal rows of a table the first is accepted, the others
-- are repeats.
WITH kept AS (
    SELECT *
    FROM staged_rows AS s
    WHERE NOT EXISTS (
        SELECT 1
        FROM set_aside AS a
        WHERE a.kind = 'row'
            AND a.table_name = s.table_name
            AND a.row_id = s.row_id
    )
),
firsts AS (
    SELECT
        table_name,
        min(row_id) AS row_id
    FROM kept
    GROUP BY table_name, whole_row
)
SELECT
    kept.table_name,
    kept.row_id,
    t.sheet,
    h.file,
    kept.line,
    kept.last_line,
    CASE WHEN firsts.row_id IS NULL THEN 'repeat' ELSE 'accepted' END AS fate
FROM kept
LEFT JOIN firsts USING (table_name, row_id)
JOIN sheet_tables AS t USING (sheet_table)
JOIN sheets AS h USING (sheet)
