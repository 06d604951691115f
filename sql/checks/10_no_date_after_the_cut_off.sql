-- kind: row
-- allowed: a day on or before the cut-off, after which nothing is known
-- mend: correct the date in the record
-- why: a day after the export was drawn
SELECT
    table_name,
    column_name,
    row_id,
    day || ', after the cut-off ' || extracted_on AS found
FROM staged_dates
CROSS JOIN cut_off
WHERE day > extracted_on
