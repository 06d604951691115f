-- title: Bleeding that needed care
-- question: After how many divisions did bleeding need more than pressure or a feed?
-- section: division
-- kind: proportion
-- eligible: Every procedure 14 days or more before the cut-off
-- met: Bleeding that was treated or took the baby to hospital, 0 to 14 days after it
-- unknown: None such, and there was bleeding whose severity is not recorded, or no bleeding was noted and nobody saw the family 1 to 14 days after
-- better: lower
-- grain: procedure
-- counted_on: the day of the procedure
-- horizon: 14
-- exact: yes
-- source: common practice (a small bleed settles with pressure or feeding), no source
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
        coalesce(bool_or(x.severity IN ('treated', 'hospital')) FILTER (WHERE x.kind = 'bleeding'), FALSE) AS needed_care,
        coalesce(bool_or(x.severity IS NULL) FILTER (WHERE x.kind = 'bleeding'), FALSE) AS severity_not_recorded,
        bool_or(x.kind = 'bleeding') AS bled
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
        WHEN n.needed_care THEN TRUE
        WHEN n.severity_not_recorded THEN NULL
        WHEN n.bled OR w.seen_after THEN FALSE
    END AS met
FROM watched AS w
LEFT JOIN noted AS n USING (procedure_id)
