-- title: Divided again within 84 days
-- question: How many babies were divided a second time within twelve weeks of the first?
-- section: division
-- kind: proportion
-- eligible: The first procedure of a case, 84 days or more before the cut-off
-- met: Another procedure on a later day, within 84 days
-- unknown: Never: a second division elsewhere that nobody recorded counts as none
-- better: lower
-- grain: procedure
-- counted_on: the day of the first procedure
-- horizon: 84
-- exact: yes
-- source: common practice, no published standard; the project's own definition
SELECT
    c.case_ref,
    c.first_procedure_id AS procedure_id,
    c.first_procedure_date AS index_date,
    EXISTS (
        SELECT 1
        FROM procedures AS p
        WHERE p.case_ref = c.case_ref
            AND p.procedure_date - c.first_procedure_date BETWEEN 1 AND 84
    ) AS met
FROM cases AS c
WHERE c.first_procedure_date + 84 <= c.cut_off
