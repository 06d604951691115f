-- title: Attachment help after division
-- question: After a first division by this service, how many families had help with attachment in the following week?
-- section: division
-- kind: proportion
-- eligible: The first division of a case by this service, and 7 days have passed since
-- met: A contact that gave attachment help 1 to 7 days after it
-- unknown: No such contact, but one in those days did not record whether help was given (no contact at all is not met)
-- better: higher
-- grain: division
-- counted_on: the day of the first division by this service
-- horizon: 7
-- changed: 2026-11-28 A division elsewhere is not counted.
-- source: common practice (help with attachment goes on after a division), no source
-- published: everyone
-- inside: eligible = reattached_within_84_days.eligible
WITH contacts_after AS (
    SELECT
        d.division_id,
        bool_or(coalesce(k.attachment_help, FALSE)) AS helped,
        bool_or(k.attachment_help IS NULL) AS not_recorded
    FROM own_divisions AS d
    JOIN contacts AS k -- one to many
        ON k.case_ref = d.case_ref
        AND k.contact_date - d.division_date BETWEEN 1 AND 7
    GROUP BY d.division_id
)
SELECT
    d.case_ref,
    d.division_id,
    d.division_date AS index_date,
    CASE
        WHEN a.helped THEN TRUE
        WHEN a.not_recorded THEN NULL
        ELSE FALSE
    END AS met
FROM own_divisions AS d
LEFT JOIN contacts_after AS a USING (division_id)
WHERE d.is_first
    AND d.division_date + 7 <= d.cut_off
