-- unique: case_ref
-- One row a case and one a request that is none: what breakdowns read. What a request does not say of itself is not
-- recorded.
SELECT *
FROM cases
UNION ALL BY NAME
SELECT
    case_ref, site, deprivation_decile, ethnic_group, referral_source, interpreter_needed
FROM counting_requests
