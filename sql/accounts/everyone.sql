-- Every case once: the day it was first seen, by which route it went, and what is known of it at six weeks.
-- `outside` is for those the six-week measures do not ask about; it is never split further, for it holds the deaths.
SELECT
    case_ref,
    first_contact_date AS index_date,
    route,
    CASE
        WHEN feeding_at_first_contact IS NULL
            OR feeding_at_first_contact = 'none'
            OR age_days >= 28
            OR closed_reason = 'died' THEN 'outside'
        WHEN six_week_feeding IS NOT NULL AND birth_date + 56 <= cut_off THEN six_week_feeding
        -- A case that the newest export does not carry stays without an answer once its time has passed.
        WHEN birth_date + 56 > (SELECT max(extracted_on) FROM loads_in_force) THEN 'not_yet_due'
        ELSE 'no_answer'
    END AS six_weeks
FROM cases
