-- title: Age at division
-- question: How old were babies when they were first divided?
-- section: waiting
-- kind: days
-- eligible: Every case with a division by this service, once
-- met: Completed days of age on the day of the first division by this service
-- unknown: Never: the age follows from the age at first contact
-- better: none
-- grain: division
-- counted_on: the day of the first division by this service
-- horizon: 0
-- changed: 2026-11-28 A division elsewhere is not counted.
-- source: common practice, no published standard; the project's own definition
SELECT
    d.case_ref,
    d.division_id,
    d.division_date AS index_date,
    d.division_date - c.birth_date AS days
FROM own_divisions AS d
JOIN cases AS c USING (case_ref)
WHERE d.is_first
