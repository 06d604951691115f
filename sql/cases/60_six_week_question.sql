-- unique: case_ref
-- One row a case that was breastfed at first contact, unless it counts as closed because the baby died: whether the
-- six-week measures ask about it (first seen younger than 28 days), and whether its days to answer were over by its
-- cut-off.
SELECT
    c.case_ref,
    c.age_days < 28 AS asked,
    w.first_day,
    w.last_day,
    w.last_day <= c.cut_off AS is_over
FROM cases AS c
JOIN six_week_window AS w USING (case_ref)
WHERE breastfed(c.feeding_at_first_contact)
    AND c.closed_reason IS DISTINCT FROM 'died'
