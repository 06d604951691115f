-- title: Asked for help and waiting longer than our limit
-- why: Families who had asked for help and on the last day of the period had neither been seen nor had their request ended, for longer than the service’s own limit (longest_wait_days in audit.toml), longest first. To see that no request was lost or forgotten. The wait is counted up to that day, or as far as the export goes; the day is that of the request. Nobody is the practitioner yet.
-- A request that ended on a day that is not recorded is left out; so is everyone of whom any load says that they died.
WITH waiting AS (
    SELECT
        r.case_ref,
        r.request_date,
        r.first_contact_date,
        r.outcome_date,
        coalesce(r.outcome, 'waiting') <> 'waiting' AS ended,
        least(last_day_of($period), r.cut_off) AS watched_until
    FROM requests AS r
    ANTI JOIN died USING (case_ref)
    WHERE r.cut_off >= first_day_of($period)
)
SELECT
    w.case_ref,
    CAST(NULL AS VARCHAR) AS practitioner,
    w.request_date AS day,
    (w.watched_until - w.request_date) || ' days, still waiting on ' || strftime(w.watched_until, '%-d %B %Y') AS detail
FROM waiting AS w
CROSS JOIN settings AS s
WHERE w.watched_until - w.request_date > s.longest_wait_days
    AND coalesce(w.first_contact_date > w.watched_until, TRUE)
    AND (NOT w.ended OR w.outcome_date > w.watched_until)
ORDER BY
    w.watched_until - w.request_date DESC,
    w.case_ref
