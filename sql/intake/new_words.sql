-- One row a site, practitioner or destination of the export that no load in force holds and nobody has listed, whatever
-- its case and blanks.
WITH given AS (
    SELECT 'site' AS kind, site AS word FROM accepted_cases
    UNION
    SELECT 'site', site FROM accepted_requests
    UNION
    SELECT 'practitioner', practitioner FROM accepted_contacts
    UNION
    SELECT 'practitioner', practitioner FROM accepted_assessments
    UNION
    SELECT 'practitioner', operator FROM accepted_procedures
    UNION
    SELECT 'destination', destination FROM accepted_referrals
),

confirmed AS (
    SELECT 'site' AS kind, site AS word FROM store.cases JOIN loads_in_force USING (load)
    UNION
    SELECT 'site', site FROM store.requests JOIN loads_in_force USING (load)
    UNION
    SELECT 'practitioner', practitioner FROM store.contacts JOIN loads_in_force USING (load)
    UNION
    SELECT 'practitioner', practitioner FROM store.assessments JOIN loads_in_force USING (load)
    UNION
    SELECT 'practitioner', operator FROM store.procedures JOIN loads_in_force USING (load)
    UNION
    SELECT 'destination', destination FROM store.referrals JOIN loads_in_force USING (load)
    UNION
    SELECT unnest(CAST($kinds AS VARCHAR[])), unnest(CAST($words AS VARCHAR[]))
)

SELECT
    g.kind,
    g.word
FROM given AS g
WHERE g.word IS NOT NULL
    AND NOT EXISTS (
        SELECT 1
        FROM confirmed AS c
        WHERE c.kind = g.kind
            AND one_spelling(c.word) = one_spelling(g.word)
    )
ORDER BY g.kind, g.word
