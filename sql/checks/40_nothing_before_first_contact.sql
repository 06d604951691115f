-- kind: row
-- allowed: a day on or after first_contact_date of the case (an earlier procedure is history, and is kept)
-- mend: correct the date in the record, or first_contact_date of the case
-- why: days in an order that cannot be
SELECT
    d.table_name,
    d.column_name,
    d.row_id,
    d.day || ', before first_contact_date ' || c.first_contact_date AS found
FROM staged_dates AS d
JOIN usable_cases AS c USING (case_ref)
WHERE d.day < c.first_contact_date
    AND d.column_name IN ('contact_date', 'assessment_date', 'referral_date', 'check_date', 'answered_date')
