-- Every case once: the day it was first seen, by which route it went, and what is known of it at six weeks.
-- `outside` is for those the six-week measures do not ask about; it is never split further, for it holds the deaths.
SELECT
    c.case_ref,
    c.first_contact_date AS index_date,
    c.route,
    CASE
        WHEN q.asked IS NOT TRUE THEN 'outside'
        WHEN c.six_week_feeding IS NOT NULL AND q.is_over THEN c.six_week_feeding
        -- A case that the newest export does not carry stays without an answer once its time has passed.
        WHEN q.last_day > (SELECT max(extracted_on) FROM newest_loads) THEN 'not_yet_due'
        ELSE 'no_answer'
    END AS six_weeks
FROM cases AS c
LEFT JOIN six_week_question AS q USING (case_ref)
