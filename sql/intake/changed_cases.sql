-- How many cases of an export are new, changed, as before and gone, beside those of the load before: one row.
SELECT
    count(*) FILTER (WHERE b.case_ref IS NULL) AS new,
    count(*) FILTER (WHERE n.told_by <> b.told_by) AS changed,
    count(*) FILTER (WHERE n.told_by = b.told_by) AS same,
    count(*) FILTER (WHERE n.case_ref IS NULL) AS gone
FROM cases_now AS n
FULL JOIN cases_before AS b USING (case_ref)
