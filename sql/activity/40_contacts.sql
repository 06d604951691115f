-- title: Contacts
-- published: yes
-- Each contact once by its mode, and once more where attachment help was given.
SELECT
    contact_date AS index_date,
    'mode: ' || level_of(mode) AS counted_as
FROM contacts
UNION ALL
SELECT
    contact_date AS index_date,
    'attachment_help: ' || yes_no_of(attachment_help) AS counted_as
FROM contacts
