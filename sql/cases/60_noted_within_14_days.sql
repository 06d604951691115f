-- One row a procedure 14 days or more before the cut-off: what was noted from the day itself to 14 days after it; all
-- NULL where nothing was. One complication counts for every procedure it follows.
WITH noted AS (
    SELECT
        p.procedure_id,
        bool_or(x.kind <> 'reattachment') AS complication,
        bool_or(x.kind = 'reattachment') AS reattachment,
        bool_or(x.kind = 'infection') AS infection,
        bool_or(x.kind = 'bleeding') AS bleeding,
        bool_or(x.needed_care) FILTER (WHERE x.kind = 'bleeding') AS bleeding_needed_care,
        bool_or(x.needed_care IS NULL) FILTER (WHERE x.kind = 'bleeding') AS bleeding_of_unknown_severity
    FROM procedures AS p
    JOIN complications AS x -- one to many
        ON x.case_ref = p.case_ref
        AND x.noted_date - p.procedure_date BETWEEN 0 AND 14
    GROUP BY p.procedure_id
)
SELECT
    p.procedure_id,
    n.complication,
    n.reattachment,
    n.infection,
    n.bleeding,
    n.bleeding_needed_care,
    n.bleeding_of_unknown_severity
FROM procedures AS p
JOIN cases AS c USING (case_ref)
LEFT JOIN noted AS n USING (procedure_id)
WHERE p.procedure_date + 14 <= c.cut_off
