-- One row a record: what became of its lines. Of several rows one that is accepted goes before a repeat, and that before
-- one set aside, which is the order of the alphabet. A finding about one row of several is that row's own.
WITH fates AS (
    SELECT
        sheet,
        line,
        last_line,
        fate
    FROM kept_rows
    UNION ALL
    SELECT
        sheet,
        line,
        last_line,
        'set_aside' AS fate
    FROM set_aside
    WHERE kind = 'row'
)
SELECT
    sheet,
    line,
    last_line,
    min(fate) AS fate
FROM fates
GROUP BY sheet, line, last_line
