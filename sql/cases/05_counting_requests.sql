-- unique: case_ref
-- One row a request for help that has led to no first contact yet: its version that counts. A case_ref of which the
-- version that counts is a case is none. Its cut-off is that of the load the version comes from.
SELECT
    r.load,
    r.case_ref,
    recorded(r.site) AS site,
    r.request_date,
    r.outcome,
    r.outcome_date,
    r.deprivation_decile,
    r.ethnic_group,
    r.referral_source,
    r.interpreter_needed,
    l.extracted_on AS cut_off
FROM counting_versions
JOIN store.requests AS r USING (case_ref, load)
JOIN loads_in_force AS l USING (load)
