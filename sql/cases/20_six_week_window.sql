-- unique: case_ref
-- One row a case: the day the baby is six weeks old, and the days on which an answer about feeding counts as one at six
-- weeks: 35 to 56 days of age, both included.
SELECT
    case_ref,
    first_contact_date - age_days + 42 AS six_week_date,
    first_contact_date - age_days + 35 AS first_day,
    first_contact_date - age_days + 56 AS last_day
FROM counting_cases
