-- Every case of what is only noted, up to a day, in order of time. Who was not heard from counts as not noted: that only
-- delays a warning.
SELECT
    measure,
    index_date,
    coalesce(met, FALSE) AS met
FROM counted
WHERE list_contains($names, measure)
    AND index_date <= $last
ORDER BY
    measure,
    index_date,
    unit
