-- One row a load that a traced case counts from, with the mapping it was read through.
SELECT DISTINCT
    l.load,
    l.export,
    l.source,
    l.extracted_on,
    l.mapping
FROM loads_in_force AS l
JOIN counting_versions AS c USING (load)
WHERE c.case_ref IN (SELECT case_ref FROM traced)
ORDER BY l.load
