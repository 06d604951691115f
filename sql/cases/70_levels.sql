-- unique: case_ref
-- One row a case and one a request that is none, with all that breakdowns read. What a request does not say of itself
-- is not recorded.
SELECT
    case_ref, site, lead_practitioner, tie_type, deprivation_decile, ethnic_group, sex, first_baby, age_days,
    gestation_weeks, referral_source, interpreter_needed, multiple_birth, divided_before,
    feeding_at_first_contact, route
FROM cases
UNION ALL BY NAME
SELECT
    case_ref, site, deprivation_decile, ethnic_group, referral_source, interpreter_needed
FROM counting_requests
