-- title: Divisions of a submucosal tie
-- measure: division_without_visible_tie
SELECT
    case_ref,
    division_id,
    division_date AS index_date
FROM own_divisions
WHERE tie_type = 'submucosal'
