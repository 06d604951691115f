-- One row a sheet, column and rule: how often it was broken, what was found most often, and in which line first. A cell
-- that two columns of the layout are read from is one thing to mend. What only follows from another finding comes last,
-- and so does a request that became a case.
WITH texts AS (
    SELECT
        sheet,
        said_as,
        allowed,
        found,
        min(kind) AS kind,
        min(mend) AS mend,
        count(DISTINCT line) AS times,
        min(line) AS line
    FROM set_aside
    GROUP BY sheet, said_as, allowed, found
)
SELECT
    file,
    said_as,
    min(kind) AS kind,
    arg_max(found, (times, -texts.line)) AS commonest,
    count(DISTINCT found) AS kinds_found,
    CAST(sum(times) AS BIGINT) AS count,
    min(texts.line) AS line,
    allowed,
    min(mend) AS mend
FROM texts
JOIN sheets USING (sheet)
GROUP BY sheet, file, said_as, allowed
ORDER BY list_contains($last, allowed), count DESC, sheet, line, said_as, allowed
