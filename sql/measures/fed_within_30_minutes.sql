-- title: Fed within 30 minutes
-- question: After how many divisions did the baby feed within half an hour?
-- section: division
-- kind: proportion
-- eligible: Every division by this service
-- met: First feed 30 minutes or less after the division
-- unknown: The minutes to the first feed are not recorded
-- better: higher
-- grain: division
-- counted_on: the day of the division
-- horizon: 0
-- changed: 2026-11-28 Two operators on one day are one division; a division elsewhere is not counted.
-- source: common practice (the baby feeds at once after a division), no source
-- published: everyone
-- inside: eligible = checks_before_procedure.eligible
SELECT
    case_ref,
    division_id,
    division_date AS index_date,
    minutes_to_first_feed <= 30 AS met
FROM own_divisions
