-- title: Divided again within 84 days
-- question: How many babies were divided again within twelve weeks of the first division by this service?
-- section: division
-- kind: proportion
-- eligible: The first division of a case by this service, 84 days or more before the cut-off
-- met: A division by anyone on a later day, within 84 days
-- unknown: Never, as far as recorded: a second division elsewhere that nobody recorded counts as none
-- better: lower
-- grain: division
-- counted_on: the day of the first division by this service
-- horizon: 84
-- exact: yes
-- own_file: yes
-- changed: 2026-11-28 A second division elsewhere counts, where it is recorded.
-- source: common practice, no published standard; the project's own definition
-- published: everyone
-- inside: eligible = reattached_within_84_days.eligible; met < reattached_within_84_days.met; known = divided_again_within_84_days.eligible
SELECT
    d.case_ref,
    d.division_id,
    d.division_date AS index_date,
    EXISTS (
        SELECT 1
        FROM divisions AS later
        WHERE later.case_ref = d.case_ref
            AND later.division_date - d.division_date BETWEEN 1 AND 84
    ) AS met
FROM own_divisions AS d
WHERE d.is_first
    AND d.division_date + 84 <= d.cut_off
