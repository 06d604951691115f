-- title: First seen within {reported_day} days of asking
-- question: How soon after asking for help were families seen, allowing for those whose request ended otherwise?
-- section: waiting
-- kind: time_to_event
-- eligible: Every dated request for help, of a case or of a family never seen
-- met: First seen within {reported_day} days of the request
-- unknown: Neither seen nor ended otherwise, and watched for less than 28 days; a request that ended without a first contact is the competing event, on the day it ended, and counts as known
-- in_a_sentence: who asked; seen; ended otherwise; still waiting then
-- better: shorter
-- grain: request
-- counted_on: the day of the request
-- horizon: 28
-- changed: 2026-11-28 New.
-- source: common practice, no published standard; the project's own definition
-- published: everyone
-- inside: known = days_to_first_contact.eligible
-- event 1: first contact; 2: the request ended otherwise, on a day that is recorded; 0: not seen for as long as it was watched.
WITH watched AS (
    SELECT
        case_ref,
        request_date AS index_date,
        least(cut_off - request_date, followed_days()) AS watched_days,
        first_contact_date - request_date AS seen_days,
        CASE WHEN outcome <> 'waiting' THEN outcome_date - request_date END AS ended_days
    FROM requests
)
SELECT
    case_ref,
    index_date,
    least(watched_days, seen_days, ended_days) AS days,
    what_came_first(watched_days, seen_days, ended_days) AS event
FROM watched
