-- title: Settled with attachment help alone
-- question: Of the babies helped with positioning and attachment, how many had the problem resolved six weeks later, without a referral?
-- section: help_first
-- kind: proportion
-- eligible: Attachment help within 42 days of first contact, and 42 days have passed since first contact
-- met: On day 42 the problem stands as resolved, and by then there was no referral, no procedure and no feeding check without breast milk
-- unknown: None of those three by day 42, and no contact by then recorded how the problem stood
-- better: higher
-- grain: case
-- counted_on: the day of first contact
-- horizon: 42
-- source: common practice (help with positioning and attachment comes first), no published standard
-- A status on day 42 is that of the latest day, up to then, that recorded one; it stands until another is recorded.
WITH helped AS (
    SELECT
        case_ref,
        first_contact_date,
        first_contact_date + 42 AS last_day,
        coalesce(referral_date <= first_contact_date + 42, FALSE)
            OR coalesce(first_procedure_date <= first_contact_date + 42, FALSE) AS went_further
    FROM cases
    WHERE attachment_help_date <= first_contact_date + 42
        AND first_contact_date + 42 <= cut_off
),
status_by_then AS (
    SELECT
        h.case_ref,
        max_by(d.status, d.status_date) AS status
    FROM helped AS h
    JOIN days_with_status AS d -- one to many
        ON d.case_ref = h.case_ref
        AND d.status_date <= h.last_day
    GROUP BY h.case_ref
),
stopped_by_then AS (
    SELECT DISTINCT h.case_ref
    FROM helped AS h
    JOIN feeding_checks AS f
        ON f.case_ref = h.case_ref
        AND f.check_date <= h.last_day
        AND f.feeding = 'none'
)
SELECT
    h.case_ref,
    h.first_contact_date AS index_date,
    CASE
        WHEN h.went_further OR stopped.case_ref IS NOT NULL THEN FALSE
        ELSE s.status = 'resolved'
    END AS met
FROM helped AS h
LEFT JOIN status_by_then AS s USING (case_ref)
LEFT JOIN stopped_by_then AS stopped USING (case_ref)
