-- One row a shape of the references that the loads in force hold, what they read as, and how many there are.
WITH held AS (
    SELECT case_ref, load FROM store.cases
    UNION ALL
    SELECT case_ref, load FROM store.requests
)

SELECT
    shape_of(case_ref) AS shape,
    reads_as(regexp_replace(case_ref, $put_before, '')) AS reads_as,
    count(DISTINCT case_ref) AS times
FROM held
JOIN loads_in_force USING (load)
GROUP BY ALL
ORDER BY shape, reads_as
