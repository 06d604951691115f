-- title: Divisions by this service, by vitamin K
SELECT
    division_date AS index_date,
    level_of(vitamin_k) AS counted_as
FROM own_divisions
