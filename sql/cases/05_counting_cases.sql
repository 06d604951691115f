-- unique: case_ref
-- One row a case: its version that counts. A case_ref of which that version is a request is no case.
-- The cut-off of a case is that of the load its version comes from: one that later exports no longer carry is not
-- followed past its own. Where a newer load in force, of any source, set the case's own row aside, set_aside_in is the
-- newest such load: the case is counted as it was before.
WITH refusals AS (
    SELECT
        s.case_ref,
        max_by(s.load, l.place) AS load,
        max(l.place) AS place
    FROM store.set_aside AS s
    JOIN loads_in_force AS l USING (load)
    WHERE s.table_name = 'cases'
        AND s.kind = 'row'
        AND s.case_ref <> ''
    GROUP BY s.case_ref
)
SELECT
    c.*,
    l.extracted_on AS cut_off,
    r.load AS set_aside_in
FROM counting_versions
JOIN store.cases AS c USING (case_ref, load)
JOIN loads_in_force AS l USING (load)
LEFT JOIN refusals AS r
    ON r.case_ref = c.case_ref
    AND r.place > l.place
