-- One row a record: what became of its lines. Of several rows one that is accepted goes before a repeat, and that before
-- one set aside; a finding about one row of several is that row's own. What was left out on purpose comes last.
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
    UNION ALL
    SELECT
        sheet,
        line,
        last_line,
        'left_out' AS fate
    FROM left_out_lines
)
SELECT
    sheet,
    line,
    last_line,
    arg_min(fate, list_position(['accepted', 'repeat', 'set_aside', 'left_out'], fate)) AS fate
FROM fates
GROUP BY sheet, line, last_line
