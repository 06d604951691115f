-- title: Fed within 30 minutes
-- question: After how many divisions did the baby feed within half an hour?
-- section: division
-- kind: proportion
-- eligible: Every procedure
-- met: First feed 30 minutes or less after the division
-- unknown: The minutes to the first feed are not recorded
-- better: higher
-- grain: procedure
-- counted_on: the day of the procedure
-- horizon: 0
-- source: common practice (the baby feeds at once after a division), no source
SELECT
    case_ref,
    procedure_id,
    procedure_date AS index_date,
    minutes_to_first_feed <= 30 AS met
FROM procedures
