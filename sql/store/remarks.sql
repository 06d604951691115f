-- What each load in force said that a reader should know: what is serious, or the rest. What is serious of a load from
-- which no case counts any more is no longer serious, unless it is its source's newest.
WITH weighty AS (
    SELECT load
    FROM counting_cases
    UNION
    SELECT load
    FROM newest_loads
)
SELECT
    load,
    extracted_on,
    remark
FROM store.remarks
JOIN loads_in_force USING (load)
WHERE (serious AND load IN (SELECT load FROM weighty)) = $serious
ORDER BY
    load,
    remark
