-- title: Function assessed before referral
-- question: Of the babies referred for division, how many had the kind of tie and the tongue's function assessed by then?
-- section: help_first
-- kind: proportion
-- eligible: Every referred case
-- met: An assessment on or before the day of referral that records the kind of tie, and a function score or three of extension, elevation, lateralisation, cupping and peristalsis
-- unknown: Never: an assessment that is not on record counts as not made
-- better: higher
-- grain: case
-- counted_on: the day of the earliest referral
-- horizon: 0
-- changed: 2026-11-28 Any three of five movements of the tongue are enough, where three named ones were asked.
-- source: published assessments of the tongue's function (totals only); that assessment comes before referral is common practice, no source
-- published: everyone
-- inside: eligible = days_from_referral_to_procedure.eligible; known = function_assessed_before_referral.eligible
SELECT
    c.case_ref,
    c.referral_date AS index_date,
    EXISTS (
        SELECT 1
        FROM assessments AS a
        WHERE a.case_ref = c.case_ref
            AND a.assessment_date <= c.referral_date
            AND a.tie_type IS NOT NULL
            AND (
                a.function_score IS NOT NULL
                OR len(list_filter(
                    [a.extension, a.elevation, a.lateralisation, a.cupping, a.peristalsis],
                    lambda movement: movement IS NOT NULL
                )) >= 3
            )
    ) AS met
FROM cases AS c
WHERE c.referral_date IS NOT NULL
