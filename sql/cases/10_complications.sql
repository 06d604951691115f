-- One row a complication noted after a procedure.
SELECT
    case_ref,
    noted_date,
    kind,
    severity
FROM store.complications
JOIN counting_cases USING (case_ref, load)
