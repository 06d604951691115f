-- title: Lost weight and no later contact
-- why: At the last weighing on record, in the quarter and at 5 days of age or older, the baby weighed less than at birth or at an earlier weighing, and on no later day is there a contact, an assessment, a division or a feeding check. This rule is the project’s own; no published standard stands behind it. With the lead practitioner.
-- Of several weights of one day the lowest counts on the last day, and the highest before it.
-- Nobody of whom any load says that they died.
WITH days AS (
    SELECT
        case_ref,
        contact_date,
        min(weight_g) AS lowest,
        max(weight_g) AS highest
    FROM contacts
    WHERE weight_g IS NOT NULL
    GROUP BY
        case_ref,
        contact_date
),
last_weighing AS (
    SELECT
        case_ref,
        max(contact_date) AS weighed_on,
        max_by(lowest, contact_date) AS weight_g
    FROM days
    GROUP BY case_ref
),
compared AS (
    SELECT
        w.case_ref,
        w.weighed_on,
        w.weight_g,
        greatest(c.birth_weight_g, max(d.highest)) AS heaviest_before
    FROM last_weighing AS w
    JOIN cases AS c USING (case_ref)
    LEFT JOIN days AS d -- one to many
        ON d.case_ref = w.case_ref
        AND d.contact_date < w.weighed_on
    WHERE quarter_of(w.weighed_on) = $quarter
        AND w.weighed_on - c.birth_date >= 5
    GROUP BY
        w.case_ref,
        w.weighed_on,
        w.weight_g,
        c.birth_weight_g
),
seen AS (
    SELECT case_ref, contact_date AS seen_on FROM contacts
    UNION ALL
    SELECT case_ref, assessment_date FROM assessments
    UNION ALL
    SELECT case_ref, procedure_date FROM procedures
    UNION ALL
    SELECT case_ref, check_date FROM feeding_checks
),
last_seen AS (
    SELECT
        case_ref,
        max(seen_on) AS seen_on
    FROM seen
    GROUP BY case_ref
)
SELECT
    w.case_ref,
    c.lead_practitioner AS practitioner,
    w.weighed_on AS day,
    w.weight_g || ' g, ' || (w.heaviest_before - w.weight_g) || ' g less than before; nothing later by '
        || strftime(c.cut_off, '%-d %B %Y') AS detail
FROM compared AS w
JOIN cases AS c USING (case_ref)
JOIN last_seen AS s USING (case_ref)
ANTI JOIN died USING (case_ref)
WHERE w.weight_g < w.heaviest_before
    AND s.seen_on = w.weighed_on
ORDER BY
    day,
    case_ref
