-- How many lines of a sheet's records hold nothing: one row.
SELECT
    $sheet AS sheet,
    coalesce(sum(last_line - line + 1), 0) AS lines
FROM records
WHERE len(list_filter(fields, lambda field: field <> '')) = 0
