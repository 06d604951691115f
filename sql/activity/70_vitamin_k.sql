-- title: Divisions, by vitamin K
SELECT
    procedure_date AS index_date,
    level_of(vitamin_k) AS counted_as
FROM procedures
