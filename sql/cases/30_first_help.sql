-- unique: case_ref
-- One row a case with a contact: when attachment help first came, and who leads the case.
-- The lead is the practitioner of the contacts that gave help on that day, else of the contacts on the first day.
-- Two practitioners among those are no lead, and neither is one whose code was not recorded.
WITH days AS (
    SELECT
        case_ref,
        min(contact_date) FILTER (WHERE attachment_help) AS attachment_help_date,
        min(contact_date) AS earliest_contact_date
    FROM contacts
    GROUP BY case_ref
),
leading_contacts AS (
    SELECT
        d.case_ref,
        d.attachment_help_date,
        c.practitioner
    FROM days AS d
    JOIN contacts AS c -- every contact of the day: one to many
        ON c.case_ref = d.case_ref
        AND c.contact_date = coalesce(d.attachment_help_date, d.earliest_contact_date)
        AND (d.attachment_help_date IS NULL OR c.attachment_help)
)
SELECT
    case_ref,
    any_value(attachment_help_date) AS attachment_help_date,
    CASE WHEN count(DISTINCT level_of(practitioner)) = 1 THEN any_value(practitioner) END AS lead_practitioner
FROM leading_contacts
GROUP BY case_ref
