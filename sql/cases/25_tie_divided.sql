-- unique: division_id
-- One row a division: the kind of tie it divided. Its own if recorded, else that of the latest assessment on or before
-- its day that records one; an assessment made after it says nothing of what was divided.
WITH assessed AS (
    SELECT
        d.division_id,
        max_by(a.tie_type, (a.assessment_date, place_of_tie_type(a.tie_type))) AS tie_type
    FROM divisions AS d
    JOIN assessments AS a -- one to many
        ON a.case_ref = d.case_ref
        AND a.assessment_date <= d.division_date
        AND a.tie_type IS NOT NULL
    GROUP BY d.division_id
)
SELECT
    d.division_id,
    coalesce(d.tie_type, a.tie_type) AS tie_type
FROM divisions AS d
LEFT JOIN assessed AS a USING (division_id)
