-- Two kinds of case that count as an older export had them. Dropped: the newest load in force of the case's own source
-- neither carries it nor set it aside, though at its own cut-off it was still within $followed_days days of first contact, so what
-- happened to it after that is not known. Set aside: a newer load carries it in a row that could not be used.
-- A case is one of them at most.
WITH judged AS (
    SELECT
        c.cut_off,
        c.set_aside_in,
        c.cut_off < n.extracted_on
            AND c.first_contact_date + CAST($followed_days AS INTEGER) > c.cut_off
            AND NOT EXISTS (
                SELECT 1
                FROM store.set_aside AS s
                WHERE s.load = n.load
                    AND s.table_name = 'cases'
                    AND s.kind = 'row'
                    AND s.case_ref = c.case_ref
            ) AS dropped
    FROM counting_cases AS c
    JOIN loads_in_force AS l USING (load)
    JOIN newest_loads AS n USING (source)
)
SELECT
    count(*) FILTER (WHERE dropped) AS dropped,
    min(cut_off) FILTER (WHERE dropped) AS earliest_cut_off,
    count(*) FILTER (WHERE NOT dropped AND set_aside_in IS NOT NULL) AS set_aside,
    coalesce(list_sort(list(DISTINCT set_aside_in) FILTER (WHERE NOT dropped AND set_aside_in IS NOT NULL)), [])
        AS set_aside_in
FROM judged
