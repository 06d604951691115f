-- How many cases first seen in the quarter the practitioner leads, and how many procedures of the quarter were theirs.
SELECT
    (
        SELECT count(*)
        FROM cases
        WHERE lead_practitioner = $code
            AND quarter_of(first_contact_date) = $quarter
    ) AS first_seen,
    (
        SELECT count(*)
        FROM procedures
        WHERE operator = $code
            AND quarter_of(procedure_date) = $quarter
    ) AS procedures
