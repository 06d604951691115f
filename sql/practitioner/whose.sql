-- Every counted row with one more level: the practitioner's own, or the rest of the service. Nobody's is of the rest.
SELECT
    *,
    CASE WHEN practitioner = $code THEN 'own' ELSE 'rest' END AS whose
FROM broken_down
