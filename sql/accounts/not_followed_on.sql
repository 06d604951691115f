-- Cases without a usable row in the newest export, though at their own cut-off they were still within 84 days of first
-- contact: what happened to them after that is not known.
SELECT
    count(*) AS cases,
    min(cut_off) AS earliest_cut_off
FROM cases
WHERE cut_off < (SELECT max(extracted_on) FROM store.loads)
    AND first_contact_date + 84 > cut_off
