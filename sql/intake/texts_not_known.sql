-- One row a text that the mapping does not know, of rows that are made, for set_aside.
SELECT
    $sheet AS sheet,
    $table AS table_name,
    t.row_id,
    t.line,
    t.last_line,
    column_name,
    m.kind,
    written AS found,
    m.allowed,
    'correct it in the record, or say in the mapping what it means' AS mend
FROM texts_read AS t
JOIN meanings AS m USING (column_name, written)
SEMI JOIN rows_made USING (row_id)
WHERE m.allowed IS NOT NULL
