-- title: Divisions
-- published: yes
-- inside: own = checks_before_procedure.eligible
SELECT
    division_date AS index_date,
    CASE WHEN elsewhere THEN 'elsewhere' ELSE 'own' END AS counted_as
FROM divisions
