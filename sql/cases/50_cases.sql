-- unique: case_ref
-- One row a case: everything the measures rest on, derived once.
WITH latest_status AS (
    SELECT
        case_ref,
        max(status_date) AS status_date,
        max_by(status, status_date) AS status
    FROM days_with_status
    GROUP BY case_ref
),
before_the_episode AS (
    SELECT DISTINCT p.case_ref
    FROM store.procedures AS p
    JOIN counting_cases AS c USING (case_ref, load)
    WHERE p.procedure_date < c.first_contact_date
)
SELECT
    c.case_ref,
    recorded(c.site) AS site,
    c.help_requested_date,
    c.first_contact_date,
    c.age_days,
    c.first_contact_date - c.age_days AS birth_date, -- a working value, never shown
    c.closed_date,
    c.closed_reason,
    c.sex,
    c.gestation_weeks,
    c.first_baby,
    c.deprivation_decile,
    c.ethnic_group,
    c.referral_source,
    c.interpreter_needed,
    c.multiple_birth,
    c.helped_elsewhere_before,
    c.feeding_at_first_contact,
    c.birth_weight_g,
    c.cut_off,
    -- It ends waits and shortens nothing else. A reason without a day: followed to the cut-off.
    least(
        c.cut_off,
        CASE WHEN c.closed_reason IN ('moved', 'care_elsewhere') THEN c.closed_date END
    ) AS end_of_follow_up,
    CASE WHEN c.closed_reason = 'died' THEN c.closed_date END AS died_on,
    h.attachment_help_date,
    h.lead_practitioner,
    t.tie_type,
    r.referral_date,
    r.not_going_ahead,
    r.not_going_ahead_date,
    d.first_division_date,
    d.first_own_division_date,
    d.division_after_referral_date,
    d.own_division_after_referral_date,
    d.division_elsewhere_after_referral_date,
    b.case_ref IS NOT NULL AS divided_before,
    k.six_week_date,
    w.six_week_feeding,
    w.six_week_at_breast,
    -- The route at the cut-off: the first that fits.
    CASE
        WHEN d.first_own_division_date IS NOT NULL THEN 'divided'
        WHEN d.divided_elsewhere OR r.not_going_ahead = 'divided_elsewhere' THEN 'divided_elsewhere'
        WHEN r.not_going_ahead IS NOT NULL THEN 'not_going_ahead'
        WHEN c.closed_reason = 'settled' THEN 'settled'
        WHEN s.status = 'resolved' AND (r.case_ref IS NULL OR s.status_date >= r.latest_referral_date) THEN 'settled'
        WHEN c.closed_date IS NOT NULL THEN 'closed'
        WHEN r.case_ref IS NOT NULL THEN 'waiting'
        ELSE 'in_support'
    END AS route
FROM counting_cases AS c
LEFT JOIN first_help AS h USING (case_ref)
LEFT JOIN tie_found AS t USING (case_ref)
LEFT JOIN referred AS r USING (case_ref)
LEFT JOIN divided AS d USING (case_ref)
LEFT JOIN latest_status AS s USING (case_ref)
LEFT JOIN six_week_window AS k USING (case_ref)
LEFT JOIN six_week_check AS w USING (case_ref)
LEFT JOIN before_the_episode AS b USING (case_ref)
