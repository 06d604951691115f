-- Where exports come from: how old the newest of each source is, and how many of its cases say why they were closed.
SELECT
    n.source,
    n.extracted_on AS cut_off,
    count(c.closed_reason) AS closing_reasons
FROM newest_loads AS n
LEFT JOIN store.cases AS c USING (load) -- one to many
GROUP BY
    n.source,
    n.extracted_on
ORDER BY n.source
