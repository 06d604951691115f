-- Each load in force that a newer one of its source followed, with the newest.
SELECT
    l.load,
    n.load AS newest
FROM loads_in_force AS l
JOIN newest_loads AS n USING (source)
WHERE l.load <> n.load
ORDER BY l.load
