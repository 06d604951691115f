-- One row a text that a sheet writes for a column of the table: what was read, column by column.
SELECT
    row_id,
    line,
    last_line,
    column_name,
    written
FROM rows_read
UNPIVOT (written FOR column_name IN (COLUMNS(* EXCLUDE (row_id, sheet_table, line, last_line, is_asked_for))))
