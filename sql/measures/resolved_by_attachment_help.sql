-- title: Settled with help alone at six weeks
-- question: Of the babies helped with positioning and attachment, how many were settled by six to eight weeks later, without a referral?
-- section: help_first
-- kind: proportion
-- eligible: Attachment help within 42 days of first contact, and 56 days have passed since first contact
-- met: No referral, no division and no feeding check without breast milk by day 42; and closed as settled by day 56 with nothing but resolved recorded after it, or resolved at the latest contact from day 28 to day 56
-- unknown: None of those three by day 42, not closed as settled, and no contact from day 28 to day 56 recorded how the problem stood
-- better: higher
-- grain: case
-- counted_on: the day of first contact
-- horizon: 56
-- changed: 2026-11-28 A status of the first weeks no longer stands for six weeks; closed as settled counts; a family nobody heard from is not known.
-- source: common practice (help with positioning and attachment comes first), no published standard
-- published: yes
-- inside: eligible < days_to_referral.eligible
-- never: age_band not_recorded
-- The latest day with a status, up to day 56, speaks for the six weeks only from day 28 on.
WITH helped AS (
    SELECT
        case_ref,
        first_contact_date,
        attachment_help_date,
        CASE WHEN closed_reason = 'settled' THEN closed_date END AS settled_date,
        coalesce(referral_date <= first_contact_date + 42, FALSE)
            OR coalesce(first_division_date <= first_contact_date + 42, FALSE) AS went_further
    FROM cases
    WHERE attachment_help_date <= first_contact_date + 42
        AND first_contact_date + 56 <= cut_off
),
latest_status AS (
    SELECT
        h.case_ref,
        max(d.status_date) AS status_date,
        max_by(d.status, d.status_date) AS status
    FROM helped AS h
    JOIN days_with_status AS d -- one to many
        ON d.case_ref = h.case_ref
        AND d.status_date <= h.first_contact_date + 56
    GROUP BY h.case_ref
),
stopped_by_then AS (
    SELECT DISTINCT h.case_ref
    FROM helped AS h
    JOIN feeding_checks AS f
        ON f.case_ref = h.case_ref
        AND f.check_date <= h.first_contact_date + 42
        AND f.feeding = 'none'
),
ended AS (
    SELECT
        h.case_ref,
        h.first_contact_date,
        h.went_further OR stopped.case_ref IS NOT NULL AS failed,
        coalesce(h.settled_date BETWEEN h.attachment_help_date AND h.first_contact_date + 56, FALSE)
            AND (s.status IS NULL OR s.status = 'resolved' OR s.status_date <= h.settled_date) AS closed_as_settled,
        s.status_date >= h.first_contact_date + 28 AS status_is_late_enough,
        s.status
    FROM helped AS h
    LEFT JOIN latest_status AS s USING (case_ref)
    LEFT JOIN stopped_by_then AS stopped USING (case_ref)
)
SELECT
    case_ref,
    first_contact_date AS index_date,
    CASE
        WHEN failed THEN FALSE
        WHEN closed_as_settled THEN TRUE
        WHEN status_is_late_enough THEN status = 'resolved'
    END AS met
FROM ended
