-- unique: case_ref, heard_on
-- One row a case and day on which somebody heard from the family: a contact, or a feeding check with an answer.
SELECT case_ref, contact_date AS heard_on FROM contacts
UNION
SELECT case_ref, check_date FROM feeding_checks WHERE feeding IS NOT NULL
