-- title: Requests for help
-- Each dated request once, on its own day: of a family that was seen, or by what became of it.
SELECT
    request_date AS index_date,
    CASE WHEN first_contact_date IS NOT NULL THEN 'seen' ELSE level_of(outcome) END AS counted_as
FROM requests
