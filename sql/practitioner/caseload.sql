-- How many cases first seen in the quarter the practitioner leads, and how many divisions of the quarter were theirs.
SELECT
    (
        SELECT count(*)
        FROM cases
        WHERE lead_practitioner = $code
            AND period_of(first_contact_date) = $period
    ) AS first_seen,
    (
        SELECT count(*)
        FROM own_divisions
        WHERE operator = $code
            AND period_of(division_date) = $period
    ) AS divisions
