-- title: Divisions after which reattachment was noted within 14 days
-- measure: complication_within_14_days
SELECT
    p.case_ref,
    p.procedure_id,
    p.procedure_date AS index_date
FROM procedures AS p
JOIN cases AS c USING (case_ref)
WHERE p.procedure_date + 14 <= c.cut_off
    AND EXISTS (
        SELECT 1
        FROM complications AS x
        WHERE x.case_ref = p.case_ref
            AND x.kind = 'reattachment'
            AND x.noted_date - p.procedure_date BETWEEN 0 AND 14
    )
