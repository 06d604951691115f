-- One row a complication with the division it belongs to: the latest of its case, own or elsewhere, on or before the day
-- it was noted.
WITH latest AS (
    SELECT
        x.case_ref,
        x.noted_date,
        x.kind,
        x.severity,
        x.needed_care,
        max(d.division_date) AS division_date
    FROM complications AS x
    JOIN divisions AS d -- one to many
        ON d.case_ref = x.case_ref
        AND d.division_date <= x.noted_date
    GROUP BY ALL
)
SELECT
    d.division_id,
    l.case_ref,
    l.noted_date,
    l.noted_date - l.division_date AS days_after,
    l.kind,
    l.severity,
    l.needed_care,
    d.elsewhere
FROM latest AS l
JOIN divisions AS d USING (case_ref, division_date)
