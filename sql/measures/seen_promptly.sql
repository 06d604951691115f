-- title: Seen promptly
-- question: Of the families who asked for help, how many were seen within {seen_promptly_days} days of asking?
-- section: help_first
-- kind: proportion
-- eligible: Every dated request for help, of a case or of a family never seen, {seen_promptly_days} days or more before the cut-off; not one that ended within {seen_promptly_days} days, declined, moved, seen elsewhere, not suitable or died
-- met: First contact within {seen_promptly_days} days of the request
-- unknown: Never: a family not seen within {seen_promptly_days} days was not seen promptly, and a case without the date is counted apart
-- better: higher
-- grain: request
-- counted_on: the day of the request
-- horizon: {seen_promptly_days}
-- changed: 2026-11-28 Counts those who asked and were never seen, on the day they asked.
-- source: the service's own promise (seen_promptly_days in audit.toml)
-- published: yes
-- inside: eligible < days_to_first_contact.eligible; left_out < days_to_first_contact.ended; met = days_to_first_contact.by_{seen_promptly_days}; known = seen_promptly.eligible
-- A request to which nobody replied, or that has no end on record, stays: the family asked and was not seen.
SELECT
    r.case_ref,
    r.request_date AS index_date,
    coalesce(r.first_contact_date - r.request_date <= s.seen_promptly_days, FALSE) AS met
FROM requests AS r
CROSS JOIN settings AS s
WHERE r.request_date + s.seen_promptly_days <= r.cut_off
    AND NOT coalesce(
        r.outcome IN ('declined', 'moved', 'seen_elsewhere', 'not_suitable', 'died')
            AND r.outcome_date - r.request_date <= s.seen_promptly_days,
        FALSE
    )
