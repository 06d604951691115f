-- title: Seen promptly
-- question: Of the families whose request for help has a date, how many were seen within {seen_promptly_days} days of it?
-- section: help_first
-- kind: proportion
-- eligible: The day of the request for help is recorded
-- met: First contact within {seen_promptly_days} days of the request
-- unknown: None: a case without the date is not eligible, and those are counted apart
-- better: higher
-- grain: case
-- counted_on: the day of first contact
-- horizon: 0
-- source: the service's own promise (seen_promptly_days in audit.toml)
SELECT
    case_ref,
    first_contact_date AS index_date,
    first_contact_date - help_requested_date <= (SELECT seen_promptly_days FROM settings) AS met
FROM cases
WHERE help_requested_date IS NOT NULL
