-- How many references of the export stand in the loads in force of each other source too.
SELECT
    l.source,
    count(DISTINCT case_ref) AS shared
FROM accepted_cases
JOIN store.cases AS s USING (case_ref)
JOIN loads_in_force AS l ON l.load = s.load
WHERE l.source <> $source
GROUP BY l.source
ORDER BY l.source
