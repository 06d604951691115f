-- title: Assessments of the tongue
-- published: yes
SELECT
    assessment_date AS index_date,
    'tie_type: ' || level_of(tie_type) AS counted_as
FROM assessments
