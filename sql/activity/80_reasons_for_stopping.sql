-- title: Why breastfeeding had stopped
-- Of each feeding check that found no breast milk.
SELECT
    check_date AS index_date,
    level_of(reason_stopped) AS counted_as
FROM feeding_checks
WHERE feeding = 'none'
