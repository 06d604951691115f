-- One row a source with a load in force: whether any of these holds requests, so that families never seen are counted.
SELECT
    l.source,
    bool_or(l.load IN (SELECT load FROM store.requests)) AS held
FROM loads_in_force AS l
GROUP BY l.source
ORDER BY l.source
