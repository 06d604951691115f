-- How many divisions the practitioner made up to $last: in the twelve months up to it, and in all.
SELECT
    count(*) FILTER (WHERE division_date > $year_before) AS in_the_year,
    count(*) AS in_all
FROM own_divisions
WHERE operator = $code
    AND division_date <= $last
