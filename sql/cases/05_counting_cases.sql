-- One row a case: its version that counts, from the load with the newest cut-off, then the newest load.
-- The cut-off of a case is that of the load its version comes from: one that later exports no longer carry is not
-- followed past its own.
WITH versions AS (
    SELECT
        c.case_ref,
        max_by(c.load, (l.extracted_on, c.load)) AS load
    FROM store.cases AS c
    JOIN store.loads AS l USING (load)
    GROUP BY c.case_ref
)
SELECT
    c.*,
    l.extracted_on AS cut_off
FROM versions
JOIN store.cases AS c USING (case_ref, load)
JOIN store.loads AS l USING (load)
