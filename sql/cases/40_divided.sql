-- unique: case_ref
-- One row a case with a division of either kind: the first of each kind, of all and on or after the referral.
SELECT
    d.case_ref,
    min(d.division_date) AS first_division_date,
    min(d.division_date) FILTER (WHERE NOT d.elsewhere) AS first_own_division_date,
    bool_or(d.elsewhere) AS divided_elsewhere,
    min(d.division_date) FILTER (WHERE d.division_date >= r.referral_date) AS division_after_referral_date,
    min(d.division_date) FILTER (WHERE NOT d.elsewhere AND d.division_date >= r.referral_date)
        AS own_division_after_referral_date,
    min(d.division_date) FILTER (WHERE d.elsewhere AND d.division_date >= r.referral_date)
        AS division_elsewhere_after_referral_date
FROM divisions AS d
LEFT JOIN referred AS r USING (case_ref)
GROUP BY d.case_ref
