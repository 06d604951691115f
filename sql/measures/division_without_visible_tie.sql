-- title: Division without a visible tie
-- question: How many divisions were of a tie that cannot be seen, or of none?
-- section: division
-- kind: proportion
-- eligible: Every procedure whose kind of tie is recorded, its own or else the case's
-- met: The kind of tie is none or submucosal
-- unknown: Never: where no kind of tie is recorded the procedure is not eligible, and those are counted apart
-- better: none
-- grain: procedure
-- counted_on: the day of the procedure
-- horizon: 0
-- source: common practice (a submucosal tie cannot be seen and so is not divided), no source; opinion differs
SELECT
    p.case_ref,
    p.procedure_id,
    p.procedure_date AS index_date,
    t.tie_type IN ('none', 'submucosal') AS met
FROM procedures AS p
JOIN tie_divided AS t USING (procedure_id)
WHERE t.tie_type IS NOT NULL
