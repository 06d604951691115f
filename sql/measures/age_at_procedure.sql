-- title: Age at division
-- question: How old were babies when they were first divided?
-- section: waiting
-- kind: days
-- eligible: Every case with a procedure, once
-- met: Completed days of age on the day of the first procedure
-- unknown: Never: the age follows from the age at first contact
-- better: none
-- grain: procedure
-- counted_on: the day of the first procedure
-- horizon: 0
-- source: common practice, no published standard; the project's own definition
SELECT
    case_ref,
    first_procedure_id AS procedure_id,
    first_procedure_date AS index_date,
    first_procedure_date - birth_date AS days
FROM cases
WHERE first_procedure_date IS NOT NULL
