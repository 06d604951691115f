-- The mix of families at each site: some measures in some periods, by kind of tongue-tie and age.
SELECT
    measure,
    period,
    site,
    tie_type,
    age_band,
    count(*) AS eligible,
    count(met) AS known,
    count(*) FILTER (WHERE met) AS met
FROM broken_down
WHERE list_contains($measures, measure)
    AND list_contains($periods, period)
GROUP BY ALL
ORDER BY ALL
