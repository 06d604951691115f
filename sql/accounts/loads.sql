-- The loads that count. What came in the layout has no source to name.
SELECT
    load,
    export,
    extracted_on,
    CASE WHEN mapping <> '' THEN source ELSE '' END AS source,
    accepted_anyway
FROM loads_in_force
ORDER BY load
