-- title: Checks made before division
-- question: Before how many divisions were consent, bleeding history and vitamin K all on record?
-- section: division
-- kind: proportion
-- eligible: Every division by this service
-- met: Consent recorded, bleeding history asked, and vitamin K recorded as injection, oral, declined or not given
-- unknown: Never: what is blank is not on record, so it is not met
-- better: higher
-- grain: division
-- counted_on: the day of the division
-- horizon: 0
-- changed: 2026-11-28 What is left blank counts as no; it counted as not known before. A division elsewhere is not counted.
-- source: common practice (consent, bleeding history and vitamin K before a division), no source
-- published: everyone
-- inside: known = checks_before_procedure.eligible
SELECT
    case_ref,
    division_id,
    division_date AS index_date,
    coalesce(consent_recorded, FALSE) AND coalesce(bleeding_history_asked, FALSE) AND vitamin_k IS NOT NULL AS met
FROM own_divisions
