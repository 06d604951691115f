-- One row a traced case: the load its version that counts comes from, and why that is not the newest one, if so.
-- newest_load is that of the case's own source, empty where the case comes from it.
SELECT
    c.case_ref,
    c.load,
    k.set_aside_in,
    nullif(n.load, c.load) AS newest_load
FROM counting_versions AS c
JOIN loads_in_force AS l USING (load)
JOIN newest_loads AS n USING (source)
LEFT JOIN counting_cases AS k USING (case_ref)
WHERE c.case_ref IN (SELECT case_ref FROM traced)
ORDER BY c.case_ref
