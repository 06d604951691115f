-- Each text that the records hold at a place, and how often.
SELECT
    fields[$place] AS written,
    count(*) AS records
FROM records
GROUP BY written
