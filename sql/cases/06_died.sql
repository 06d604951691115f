-- unique: case_ref
-- One row a case, or a request, that any load in force says was closed because the baby died, whether it counts as that
-- load has it or not: a load of another source, one drawn earlier, one that a later export took back. Nobody in here
-- stands on a list of people to contact, and no page says why.
SELECT DISTINCT
    c.case_ref
FROM store.cases AS c
JOIN loads_in_force AS l USING (load)
WHERE c.closed_reason = 'died'
UNION
SELECT
    r.case_ref
FROM store.requests AS r
JOIN loads_in_force AS l USING (load)
WHERE r.outcome = 'died'
