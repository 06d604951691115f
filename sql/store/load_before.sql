-- The newest load in force of a source that was drawn by a day, but for one load.
SELECT max_by(load, place) AS load
FROM loads_in_force
WHERE source = $source
    AND extracted_on <= $day
    AND load IS DISTINCT FROM $but_for
