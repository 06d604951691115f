-- Up to which day everyone counted in a period was followed: the oldest cut-off of any export that says of one of them.
SELECT min(cut_off)
FROM (
    SELECT c.cut_off
    FROM broken_down AS b
    JOIN cases AS c USING (case_ref)
    WHERE b.period = $period
    UNION ALL
    SELECT r.cut_off
    FROM broken_down AS b
    JOIN requests AS r USING (case_ref)
    WHERE b.period = $period
)
