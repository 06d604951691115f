-- Every case first seen in the quarter, once: by which route it went, and what is known of it at six weeks.
-- `outside` is for those the six-week measures do not ask about; it is never split further, for it holds the deaths.
SELECT
    route,
    CASE
        WHEN feeding_at_first_contact IS NULL
            OR feeding_at_first_contact = 'none'
            OR age_days >= 28
            OR closed_reason = 'died' THEN 'outside'
        WHEN birth_date + 56 > cut_off THEN 'not_yet_due'
        ELSE coalesce(six_week_feeding, 'no_answer')
    END AS six_weeks,
    count(*) AS cases
FROM cases
WHERE quarter_of(first_contact_date) = $quarter
GROUP BY
    route,
    six_weeks
ORDER BY
    route,
    six_weeks
