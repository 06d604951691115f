-- title: Breastfed six weeks after division
-- question: Of the babies breastfed when we met them and divided by us, how many were still breastfed six weeks after it?
-- section: feeding
-- kind: proportion
-- eligible: The first division of a case by this service, 56 days or more before the cut-off; breastfed at first contact, not closed as died
-- met: Any breast milk at the feeding check 28 to 56 days after the division (of several answers, the one nearest to six weeks after it)
-- unknown: No answer recorded 28 to 56 days after the division
-- better: higher
-- grain: division
-- counted_on: the day of the first division by this service
-- horizon: 56
-- own_file: yes
-- changed: 2026-11-28 New.
-- source: common practice, no published standard; the project's own definition
-- published: everyone
-- inside: eligible < reattached_within_84_days.eligible; known < reattached_within_84_days.known
WITH answers AS (
    SELECT
        d.division_id,
        f.feeding,
        row_number() OVER (
            PARTITION BY d.division_id
            ORDER BY
                abs(f.check_date - (d.division_date + 42)),
                f.check_date DESC,
                most_milk_first(f.feeding)
        ) AS place
    FROM own_divisions AS d
    JOIN feeding_checks AS f -- one to many
        ON f.case_ref = d.case_ref
        AND f.check_date - d.division_date BETWEEN 28 AND 56
        AND f.feeding IS NOT NULL
    WHERE d.is_first
)
SELECT
    d.case_ref,
    d.division_id,
    d.division_date AS index_date,
    breastfed(a.feeding) AS met
FROM own_divisions AS d
JOIN cases AS c USING (case_ref)
LEFT JOIN answers AS a
    ON a.division_id = d.division_id
    AND a.place = 1
WHERE d.is_first
    AND d.division_date + 56 <= d.cut_off
    AND breastfed(c.feeding_at_first_contact)
    AND c.closed_reason IS DISTINCT FROM 'died'
