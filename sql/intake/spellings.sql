-- One row a text of a place, person or service that differs from a more frequent one only in case and blanks.
WITH written AS (
    SELECT 'site' AS what, site AS text FROM written_cases
    UNION ALL
    SELECT 'practitioner', practitioner FROM written_contacts
    UNION ALL
    SELECT 'practitioner', practitioner FROM written_assessments
    UNION ALL
    SELECT 'practitioner', operator FROM written_procedures
    UNION ALL
    SELECT 'destination', destination FROM written_referrals
),

counted AS (
    SELECT
        what,
        text,
        count(*) AS rows
    FROM written
    WHERE text IS NOT NULL
    GROUP BY what, text
),

spelled AS (
    SELECT
        *,
        first_value(text) OVER (
            PARTITION BY what, one_spelling(text)
            ORDER BY rows DESC, text
        ) AS spelling
    FROM counted
)

SELECT
    what,
    text,
    rows,
    spelling
FROM spelled
WHERE text <> spelling
