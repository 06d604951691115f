-- The rows of a table of the layout in a store of version 1, renamed was_{name}, with what says where each stands: a table
-- was one file then, so that the line is the number of the row too. The name of the table is filled in.
CREATE TABLE store.{name} AS
SELECT
    r.load,
    r.line AS row_id,
    f.file,
    r.line,
    r.* EXCLUDE (load, line)
FROM store.was_{name} AS r
LEFT JOIN store.was_files AS f
    ON f.load = r.load
    AND f.table_name = '{name}' -- one row at most
ORDER BY
    r.load,
    r.line;
