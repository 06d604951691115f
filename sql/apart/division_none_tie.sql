-- title: Divisions where no tie was found
-- measure: division_without_visible_tie
SELECT
    p.case_ref,
    p.procedure_id,
    p.procedure_date AS index_date
FROM procedures AS p
JOIN tie_divided AS t USING (procedure_id)
WHERE t.tie_type = 'none'
