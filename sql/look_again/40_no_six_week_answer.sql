-- title: No six-week answer
-- why: Breastfed at first contact, first seen younger than 28 days, six weeks old in the period and eight weeks old by the last day of the data, and no answer about feeding is on record from 5 to 8 weeks of age. The day is that on which the baby was six weeks old. The practitioner is the lead practitioner.
-- Those the six-week measures ask about and have no answer of; nobody of whom any load says that they died.
WITH asked AS (
    SELECT
        q.case_ref,
        count(f.check_date) AS times
    FROM six_week_question AS q
    LEFT JOIN feeding_checks AS f -- one to many
        ON f.case_ref = q.case_ref
        AND f.check_date BETWEEN q.first_day AND q.last_day
    WHERE q.asked
        AND q.is_over
    GROUP BY q.case_ref
)
SELECT
    c.case_ref,
    c.lead_practitioner AS practitioner,
    c.six_week_date AS day,
    CASE a.times
        WHEN 0 THEN 'not asked from 5 to 8 weeks of age'
        WHEN 1 THEN 'asked once, no answer recorded'
        ELSE 'asked ' || a.times || ' times, no answer recorded'
    END || coalesce('; closed: ' || replace(c.closed_reason, '_', ' '), '') AS detail
FROM cases AS c
JOIN asked AS a USING (case_ref)
ANTI JOIN died USING (case_ref)
WHERE c.six_week_feeding IS NULL
    AND period_of(c.six_week_date) = $period
ORDER BY
    day,
    case_ref
