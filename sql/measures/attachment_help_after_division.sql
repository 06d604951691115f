-- title: Attachment help after division
-- question: After a first division, how many families had help with attachment in the following week?
-- section: division
-- kind: proportion
-- eligible: The first procedure of a case, and 7 days have passed since
-- met: A contact that gave attachment help 1 to 7 days after it
-- unknown: No such contact, but one in those days did not record whether help was given (no contact at all is not met)
-- better: higher
-- grain: procedure
-- counted_on: the day of the first procedure
-- horizon: 7
-- source: common practice (help with attachment goes on after a division), no source
WITH first_procedures AS (
    SELECT
        case_ref,
        first_procedure_id AS procedure_id,
        first_procedure_date AS index_date
    FROM cases
    WHERE first_procedure_date + 7 <= cut_off
),
contacts_after AS (
    SELECT
        p.case_ref,
        bool_or(coalesce(k.attachment_help, FALSE)) AS helped,
        bool_or(k.attachment_help IS NULL) AS not_recorded
    FROM first_procedures AS p
    JOIN contacts AS k -- one to many
        ON k.case_ref = p.case_ref
        AND k.contact_date - p.index_date BETWEEN 1 AND 7
    GROUP BY p.case_ref
)
SELECT
    p.case_ref,
    p.procedure_id,
    p.index_date,
    CASE
        WHEN a.helped THEN TRUE
        WHEN a.not_recorded THEN NULL
        ELSE FALSE
    END AS met
FROM first_procedures AS p
LEFT JOIN contacts_after AS a USING (case_ref)
