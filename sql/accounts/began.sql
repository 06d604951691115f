-- How many cases were first seen at a site in a period, and the day of the first of them.
SELECT
    level_of(site) AS site,
    period_of(first_contact_date) AS period,
    count(*) AS cases,
    min(first_contact_date) AS first_day
FROM cases
GROUP BY
    level_of(site),
    period_of(first_contact_date)
ORDER BY
    site,
    period
