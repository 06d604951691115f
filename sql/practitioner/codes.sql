-- The codes of practitioners with any row up to the quarter; not_recorded stands for nobody.
SELECT DISTINCT practitioner AS code
FROM broken_down
WHERE practitioner <> 'not_recorded'
    AND period <= $period
ORDER BY code
