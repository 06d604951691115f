-- title: Divisions whose kind of tie is not recorded, so not in this measure
-- measure: division_without_visible_tie
SELECT
    case_ref,
    division_id,
    division_date AS index_date
FROM own_divisions
WHERE tie_type IS NULL
