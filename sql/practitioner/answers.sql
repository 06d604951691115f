-- Every counted row up to the quarter, with what it stands for, whose it is (nobody's: NULL) and its answer.
SELECT
    measure,
    period,
    unit,
    nullif(practitioner, 'not_recorded') AS practitioner,
    met
FROM broken_down
WHERE period <= $period
ORDER BY ALL
