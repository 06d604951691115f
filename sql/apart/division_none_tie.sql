-- title: Divisions where no tie was found
-- measure: division_without_visible_tie
SELECT
    p.case_ref,
    p.procedure_id,
    p.procedure_date AS index_date
FROM procedures AS p
JOIN cases AS c USING (case_ref)
WHERE coalesce(p.tie_type, c.tie_type) = 'none'
