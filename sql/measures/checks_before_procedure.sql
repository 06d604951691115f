-- title: Checks made before division
-- question: Before how many divisions were consent, bleeding history and vitamin K all on record?
-- section: division
-- kind: proportion
-- eligible: Every procedure
-- met: Consent recorded, bleeding history asked, and vitamin K known as injection, oral or declined
-- unknown: Neither of the first two is no, and one of the three is not recorded
-- better: higher
-- grain: procedure
-- counted_on: the day of the procedure
-- horizon: 0
-- source: common practice (consent, bleeding history and vitamin K before a division), no source
SELECT
    case_ref,
    procedure_id,
    procedure_date AS index_date,
    CASE
        WHEN NOT consent_recorded OR NOT bleeding_history_asked THEN FALSE
        WHEN consent_recorded AND bleeding_history_asked AND vitamin_k IS NOT NULL THEN TRUE
    END AS met
FROM procedures
