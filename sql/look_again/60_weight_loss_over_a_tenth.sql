-- title: Weight more than 10% below birth weight
-- why: At a contact in the period the baby weighed more than a tenth less than at birth. The line says how far below at the lowest, and the next weight on record. To see that the feeding plan and the weighing that followed were as local policy asks. The practitioner is the lead practitioner.
-- Of several weights of one day the lowest counts. One line a case: its lowest weighing in the period, the first such.
-- Nobody of whom any load says that they died.
WITH days AS (
    SELECT
        k.case_ref,
        k.contact_date AS weighed_on,
        min(k.weight_g) AS weight_g,
        100 * (1 - min(k.weight_g) / any_value(c.birth_weight_g)) AS below
    FROM contacts AS k
    JOIN cases AS c USING (case_ref)
    ANTI JOIN died USING (case_ref)
    WHERE k.weight_g IS NOT NULL
        AND c.birth_weight_g IS NOT NULL
    GROUP BY
        k.case_ref,
        k.contact_date
),
followed AS (
    SELECT
        *,
        lead(weighed_on) OVER (PARTITION BY case_ref ORDER BY weighed_on) AS next_weighed_on,
        lead(weight_g) OVER (PARTITION BY case_ref ORDER BY weighed_on) AS next_weight_g
    FROM days
),
lowest AS (
    SELECT
        *,
        row_number() OVER (PARTITION BY case_ref ORDER BY weight_g, weighed_on) AS place
    FROM followed
    WHERE period_of(weighed_on) = $period
        AND below > 10
)
SELECT
    l.case_ref,
    c.lead_practitioner AS practitioner,
    l.weighed_on AS day,
    printf('%.1f', l.below) || '% below birth weight; ' || coalesce(
        'next weighed ' || strftime(l.next_weighed_on, '%-d %B %Y') || ', ' || CASE
            WHEN l.next_weight_g >= c.birth_weight_g THEN 'back at birth weight'
            ELSE printf('%.1f', 100 * (1 - l.next_weight_g / c.birth_weight_g)) || '% below'
        END,
        'not weighed again by ' || strftime(c.cut_off, '%-d %B %Y')
    ) AS detail
FROM lowest AS l
JOIN cases AS c USING (case_ref)
WHERE l.place = 1
ORDER BY
    day,
    l.case_ref
