-- title: Divisions after which reattachment was noted within 14 days
-- measure: complication_within_14_days
SELECT
    p.case_ref,
    p.procedure_id,
    p.procedure_date AS index_date
FROM procedures AS p
JOIN noted_within_14_days AS n USING (procedure_id)
WHERE n.reattachment
