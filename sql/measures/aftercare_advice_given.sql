-- title: Aftercare advice given
-- question: After how many divisions was advice on aftercare given?
-- section: division
-- kind: proportion
-- eligible: Every procedure
-- met: Aftercare advice recorded as given
-- unknown: Not recorded
-- better: higher
-- grain: procedure
-- counted_on: the day of the procedure
-- horizon: 0
-- source: common practice (advice on wound, bleeding and feeding after a division), no source
SELECT
    case_ref,
    procedure_id,
    procedure_date AS index_date,
    aftercare_advice AS met
FROM procedures
