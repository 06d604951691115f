-- title: Complication needing care
-- question: After how many divisions was a complication noted within two weeks that needed treatment or hospital care?
-- section: division
-- kind: noted
-- eligible: Every division by this service 28 days or more before the cut-off
-- met: A complication other than reattachment, treated or in hospital, noted 0 to 14 days after it and after no later division
-- unknown: None such, and one of unrecorded severity was noted in those days, or nobody heard from the family 5 to 28 days after
-- heard: heard from; not heard from
-- better: lower
-- grain: division
-- counted_on: the day of the division
-- horizon: 28
-- also_by: feeding_at_first_contact
-- exact: yes
-- changed: 2026-11-28 New: what needed care, since recording minor bleeding honestly must not look bad.
-- source: common practice, no published standard; the project's own definition
-- published: everyone
-- inside: eligible = checks_before_procedure.eligible
SELECT
    case_ref,
    division_id,
    division_date AS index_date,
    CASE
        WHEN complication_needed_care THEN TRUE
        WHEN complication_of_unknown_severity THEN NULL
        WHEN heard_from_days_5_to_28 THEN FALSE
    END AS met
FROM own_divisions
WHERE division_date + 28 <= cut_off
