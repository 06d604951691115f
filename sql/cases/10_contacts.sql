-- One row a contact of a case that counts.
SELECT
    case_ref,
    contact_date,
    recorded(practitioner) AS practitioner,
    mode,
    attachment_help,
    recorded(problem_status) AS problem_status,
    pain_score,
    weight_g
FROM store.contacts
JOIN counting_cases USING (case_ref, load)
