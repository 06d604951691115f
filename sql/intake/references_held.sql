-- One row a shape of the references that the loads in force hold, what they read as, and how many there are.
SELECT
    shape_of(case_ref) AS shape,
    reads_as(regexp_replace(case_ref, $put_before, '')) AS reads_as,
    count(DISTINCT case_ref) AS times
FROM store.cases
JOIN loads_in_force USING (load)
GROUP BY ALL
ORDER BY shape, reads_as
