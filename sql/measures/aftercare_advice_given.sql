-- title: Aftercare advice given
-- question: After how many divisions was advice on aftercare given?
-- section: division
-- kind: proportion
-- eligible: Every division by this service
-- met: Aftercare advice recorded as given
-- unknown: Not recorded
-- better: higher
-- grain: division
-- counted_on: the day of the division
-- horizon: 0
-- changed: 2026-11-28 Two operators on one day are one division; a division elsewhere is not counted.
-- source: common practice (advice on wound, bleeding and feeding after a division), no source
-- published: everyone
-- inside: eligible = checks_before_procedure.eligible
SELECT
    case_ref,
    division_id,
    division_date AS index_date,
    aftercare_advice AS met
FROM own_divisions
