-- title: Divisions by this service, by vitamin K
-- published: yes
-- inside: total = checks_before_procedure.eligible; not_recorded < checks_before_procedure.not_met
SELECT
    division_date AS index_date,
    level_of(vitamin_k) AS counted_as
FROM own_divisions
