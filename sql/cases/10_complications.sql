-- One row a complication noted after a procedure.
SELECT
    case_ref,
    noted_date,
    kind,
    severity,
    severity IN ('treated', 'hospital') AS needed_care -- NULL where severity is not recorded
FROM store.complications
JOIN counting_cases USING (case_ref, load)
