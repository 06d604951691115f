-- One row a sheet: the lines of its records, by what became of them.
WITH blank AS (
    SELECT
        sheet,
        sum(lines) AS lines
    FROM blank_lines
    GROUP BY sheet
),
-- Lines of which some row was set aside for another reason than that a request became a case.
amiss AS (
    SELECT DISTINCT
        sheet,
        line
    FROM set_aside
    WHERE kind = 'row'
        AND allowed <> $ordinary
),
counted AS (
    SELECT
        sheet,
        sum(last_line - line + 1) FILTER (WHERE fate = 'accepted') AS accepted,
        sum(last_line - line + 1) FILTER (WHERE fate = 'set_aside') AS set_aside,
        sum(last_line - line + 1) FILTER (WHERE fate = 'repeat') AS repeats,
        sum(last_line - line + 1) FILTER (WHERE fate = 'left_out') AS left_out,
        sum(last_line - line + 1) FILTER (WHERE fate = 'set_aside' AND amiss.line IS NULL) AS became_cases
    FROM line_fates
    LEFT JOIN amiss USING (sheet, line)
    GROUP BY sheet
)
SELECT
    sheet,
    CAST(coalesce(blank.lines, 0) AS BIGINT) AS blank,
    CAST(coalesce(counted.accepted, 0) AS BIGINT) AS accepted,
    CAST(coalesce(counted.set_aside, 0) AS BIGINT) AS set_aside,
    CAST(coalesce(counted.repeats, 0) AS BIGINT) AS repeats,
    CAST(coalesce(counted.left_out, 0) AS BIGINT) AS left_out,
    CAST(coalesce(counted.became_cases, 0) AS BIGINT) AS became_cases
FROM sheets
LEFT JOIN blank USING (sheet)
LEFT JOIN counted USING (sheet)
ORDER BY sheet
