-- One row a procedure: the kind of tie it divided, its own if recorded, else that of its case.
SELECT
    p.procedure_id,
    coalesce(p.tie_type, c.tie_type) AS tie_type
FROM procedures AS p
JOIN cases AS c USING (case_ref)
