-- What became of everything that an earlier load of the same source had set aside: mended, set aside again, or gone with
-- a case that the later load no longer holds; and what the later one set aside anew. A finding is the same if it is about
-- the same case, table, column and rule; one that is of no case is the same if the same thing was found. What only
-- follows from another finding is not counted, since it goes with it, nor a request that became a case ($not_counted).
WITH findings AS (
    SELECT
        load,
        table_name,
        said_as,
        allowed,
        case_ref,
        CASE WHEN case_ref = '' THEN found ELSE '' END AS found,
        count(*) AS findings
    FROM store.set_aside
    WHERE load IN ($before, $now)
        AND NOT list_contains($not_counted, allowed)
    GROUP BY ALL
),
earlier AS (
    FROM findings
    WHERE load = $before
),
later AS (
    FROM findings
    WHERE load = $now
),
held AS (
    SELECT case_ref
    FROM store.cases
    WHERE load = $now
    UNION
    SELECT case_ref
    FROM store.requests
    WHERE load = $now
    UNION
    SELECT case_ref
    FROM store.set_aside
    WHERE load = $now
)
SELECT
    coalesce(
        sum(e.findings) FILTER (WHERE l.allowed IS NULL AND (case_ref = '' OR h.case_ref IS NOT NULL)), 0
    ) AS mended,
    coalesce(sum(e.findings) FILTER (WHERE l.allowed IS NOT NULL), 0) AS again,
    coalesce(sum(e.findings) FILTER (WHERE l.allowed IS NULL AND case_ref <> '' AND h.case_ref IS NULL), 0) AS gone,
    coalesce(sum(l.findings) FILTER (WHERE e.allowed IS NULL), 0) AS anew
FROM earlier AS e
FULL JOIN later AS l USING (table_name, said_as, allowed, case_ref, found) -- grouped by these: one to one
LEFT JOIN held AS h USING (case_ref)
