-- The procedures that no row rule has refused so far: what complications may rest on.
SELECT DISTINCT
    case_ref,
    procedure_date
FROM staged_procedures
WHERE row_id NOT IN (
    SELECT row_id FROM set_aside WHERE table_name = 'procedures' AND kind = 'row' AND row_id IS NOT NULL
)
