-- kind: row
-- allowed: a day on or after a procedure of the case
-- mend: correct noted_date, or export the procedure it followed
-- why: days in an order that cannot be
SELECT
    'complications' AS table_name,
    'noted_date' AS column_name,
    x.row_id,
    x.noted_date || ', with no procedure of the case on or before it' AS found
FROM staged_complications AS x
JOIN usable_cases USING (case_ref)
WHERE x.noted_date IS NOT NULL
    AND NOT EXISTS (
        SELECT 1
        FROM usable_procedures AS p
        WHERE p.case_ref = x.case_ref
            AND p.procedure_date <= x.noted_date
    )
