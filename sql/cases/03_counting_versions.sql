-- unique: case_ref
-- One row a case_ref, be it a case or still a request: the load its version that counts comes from, the load in force
-- with the newest cut-off, then the newest load.
WITH versions AS (
    SELECT case_ref, load FROM store.cases
    UNION ALL
    SELECT case_ref, load FROM store.requests
)
SELECT
    v.case_ref,
    max_by(v.load, l.place) AS load
FROM versions AS v
JOIN loads_in_force AS l USING (load)
GROUP BY v.case_ref
