-- Who was still waiting at the cut-off, by measure, site and how long they had waited by then: families who asked for
-- help, neither seen nor their request ended; referred babies whose route is waiting, from the earliest referral. Each
-- is counted up to its own cut-off. Nobody in here of whom any load says that they died.
WITH waiting AS (
    SELECT
        'days_to_first_contact' AS measure,
        r.case_ref,
        r.cut_off - r.request_date AS days
    FROM requests AS r
    WHERE r.first_contact_date IS NULL
        AND coalesce(r.outcome, 'waiting') = 'waiting'
    UNION ALL
    SELECT
        'days_from_referral_to_procedure' AS measure,
        c.case_ref,
        c.cut_off - c.referral_date AS days
    FROM cases AS c
    WHERE c.route = 'waiting'
)
SELECT
    w.measure,
    level_of(l.site) AS site,
    count(*) FILTER (WHERE w.days < 14) AS under_14,
    count(*) FILTER (WHERE w.days BETWEEN 14 AND 27) AS from_14,
    count(*) FILTER (WHERE w.days BETWEEN 28 AND 55) AS from_28,
    count(*) FILTER (WHERE w.days >= 56) AS from_56,
    max(w.days) AS longest
FROM waiting AS w
JOIN levels AS l USING (case_ref)
ANTI JOIN died USING (case_ref)
GROUP BY
    w.measure,
    level_of(l.site)
ORDER BY
    w.measure,
    site
