-- One row a source: its newest load in force, the one drawn last and of those the one loaded last, and when it was drawn.
SELECT
    source,
    max_by(load, place) AS load,
    max(extracted_on) AS extracted_on
FROM loads_in_force
GROUP BY source
