-- unique: case_ref, row_id
-- One row a row of procedures within this episode: one before the first contact is history, and no measure counts it.
-- A provider nobody recorded is this service.
SELECT
    p.row_id, -- with the load of its case: the row of the export it is
    p.case_ref,
    p.procedure_date,
    recorded(p.operator) AS operator,
    coalesce(p.provider IN ('other_service', 'private'), FALSE) AS elsewhere,
    recorded(p.tie_type) AS tie_type,
    p.consent_recorded,
    p.bleeding_history_asked,
    p.vitamin_k,
    p.minutes_to_first_feed,
    p.aftercare_advice
FROM store.procedures AS p
JOIN counting_cases AS c USING (case_ref, load)
WHERE p.procedure_date >= c.first_contact_date
