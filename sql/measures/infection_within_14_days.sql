-- title: Infection within 14 days
-- question: After how many divisions was an infection noted within two weeks?
-- section: division
-- kind: proportion
-- eligible: Every procedure 14 days or more before the cut-off
-- met: An infection noted 0 to 14 days after it
-- unknown: None noted, and nobody saw the family 1 to 14 days after: no contact and no feeding check
-- better: lower
-- grain: procedure
-- counted_on: the day of the procedure
-- horizon: 14
-- exact: yes
-- source: common practice (redness and oozing are signs of infection), no source
WITH watched AS (
    SELECT
        p.case_ref,
        p.procedure_id,
        p.procedure_date AS index_date,
        p.seen_after
    FROM procedures AS p
    JOIN cases AS c USING (case_ref)
    WHERE p.procedure_date + 14 <= c.cut_off
),
noted AS (
    SELECT
        w.procedure_id,
        bool_or(x.kind = 'infection') AS infection
    FROM watched AS w
    JOIN complications AS x -- one complication counts for every procedure it follows
        ON x.case_ref = w.case_ref
        AND x.noted_date - w.index_date BETWEEN 0 AND 14
    GROUP BY w.procedure_id
)
SELECT
    w.case_ref,
    w.procedure_id,
    w.index_date,
    CASE
        WHEN n.infection THEN TRUE
        WHEN w.seen_after THEN FALSE
    END AS met
FROM watched AS w
LEFT JOIN noted AS n USING (procedure_id)
