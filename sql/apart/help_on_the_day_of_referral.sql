-- title: Attachment help first given on the day of the referral itself
-- measure: attachment_help_before_referral
SELECT
    case_ref,
    referral_date AS index_date
FROM cases
WHERE attachment_help_date = referral_date
