-- One row a division within this episode: one before the first contact is history, and no measure counts it.
-- The ids run by case, day, operator and tie type by code point, nothing recorded first, so that the lowest id of a
-- case is its first procedure, however the lines were shuffled. Rows alike in all of these fall
-- into the same levels, which is all that the choice of a first procedure decides.
WITH within_the_episode AS (
    SELECT
        row_number() OVER (
            ORDER BY
                case_ref,
                procedure_date,
                recorded(operator) NULLS FIRST,
                recorded(tie_type) NULLS FIRST,
                p.row_id
        ) AS procedure_id,
        p.*
    FROM store.procedures AS p
    JOIN counting_cases AS c USING (case_ref, load)
    WHERE p.procedure_date >= c.first_contact_date
)
SELECT
    procedure_id,
    row_id, -- with the load of its case: the row of the export it is
    case_ref,
    procedure_date,
    recorded(operator) AS operator,
    recorded(tie_type) AS tie_type,
    consent_recorded,
    bleeding_history_asked,
    vitamin_k,
    minutes_to_first_feed,
    aftercare_advice,
    -- Seen after = a contact, or a feeding check whatever its answer, 1 to 14 days after the procedure.
    EXISTS (
        SELECT 1
        FROM contacts AS k
        WHERE k.case_ref = p.case_ref
            AND k.contact_date - p.procedure_date BETWEEN 1 AND 14
    ) OR EXISTS (
        SELECT 1
        FROM feeding_checks AS f
        WHERE f.case_ref = p.case_ref
            AND f.check_date - p.procedure_date BETWEEN 1 AND 14
    ) AS seen_after
FROM within_the_episode AS p
