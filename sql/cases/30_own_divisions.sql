-- unique: division_id
-- One row a division by this service, and whether it was the first of its case that this service made. What its
-- measures ask about is here: the kind of tie it divided, what followed, and on which days somebody was heard from.
WITH noted_by_day_14 AS (
    SELECT
        division_id,
        bool_or(kind = 'infection') AS infection,
        bool_or(kind = 'bleeding') AS bleeding,
        bool_or(needed_care) FILTER (WHERE kind = 'bleeding') AS bleeding_needed_care,
        bool_or(needed_care IS NULL) FILTER (WHERE kind = 'bleeding') AS bleeding_of_unknown_severity,
        bool_or(needed_care) AS needed_care,
        bool_or(needed_care IS NULL) AS unknown_severity
    FROM complications_of_divisions
    WHERE days_after <= 14
        AND kind <> 'reattachment'
    GROUP BY division_id
),
heard AS (
    SELECT
        d.division_id,
        bool_or(h.heard_on - d.division_date BETWEEN 1 AND 28) AS on_days_1_to_28,
        bool_or(h.heard_on - d.division_date BETWEEN 5 AND 28) AS on_days_5_to_28,
        bool_or(h.heard_on - d.division_date BETWEEN 28 AND 84) AS on_days_28_to_84
    FROM divisions AS d
    JOIN heard_from AS h USING (case_ref) -- one to many
    GROUP BY d.division_id
)
SELECT
    d.division_id,
    d.case_ref,
    d.division_date,
    row_number() OVER (PARTITION BY d.case_ref ORDER BY d.division_date) = 1 AS is_first,
    d.operator,
    t.tie_type,
    d.tie_type IS NOT NULL AS tie_type_is_its_own,
    d.consent_recorded,
    d.bleeding_history_asked,
    d.vitamin_k,
    d.minutes_to_first_feed,
    d.aftercare_advice,
    n.division_id IS NOT NULL AS complication,
    coalesce(n.needed_care, FALSE) AS complication_needed_care,
    coalesce(n.unknown_severity, FALSE) AS complication_of_unknown_severity,
    coalesce(n.bleeding, FALSE) AS bleeding,
    coalesce(n.bleeding_needed_care, FALSE) AS bleeding_needed_care,
    coalesce(n.bleeding_of_unknown_severity, FALSE) AS bleeding_of_unknown_severity,
    coalesce(n.infection, FALSE) AS infection,
    coalesce(h.on_days_1_to_28, FALSE) AS heard_from_days_1_to_28,
    coalesce(h.on_days_5_to_28, FALSE) AS heard_from_days_5_to_28,
    coalesce(h.on_days_28_to_84, FALSE) AS heard_from_days_28_to_84,
    c.cut_off
FROM divisions AS d
JOIN counting_cases AS c USING (case_ref)
JOIN tie_divided AS t USING (division_id)
LEFT JOIN noted_by_day_14 AS n USING (division_id)
LEFT JOIN heard AS h USING (division_id)
WHERE NOT d.elsewhere
