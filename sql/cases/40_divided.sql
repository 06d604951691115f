-- One row a divided case: its first procedure, and the first on or after the referral.
SELECT
    p.case_ref,
    min(p.procedure_id) AS first_procedure_id,
    min(p.procedure_date) AS first_procedure_date,
    min(p.procedure_date) FILTER (WHERE p.procedure_date >= r.referral_date) AS procedure_after_referral_date
FROM procedures AS p
LEFT JOIN referred AS r USING (case_ref)
GROUP BY p.case_ref
