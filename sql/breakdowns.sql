-- One column a breakdown; its level is text, and not_recorded where nothing is recorded, so that levels add up to all.
-- `counted` is the rows of a measure. Where they are procedures, `p` is the procedure: the practitioner is then the
-- operator, and the tie type the procedure's own if recorded. Elsewhere `p` is empty.
-- A comment behind a column gives its title; one marked `only where asked` is for measures that say
-- also_by, one marked `for equity` stands in the part of the page that asks who is served less well.
SELECT
    counted.*,
    'all' AS "all", -- title: Everyone
    level_of(c.site) AS site, -- title: Site
    level_of(CASE WHEN counted.procedure_id IS NULL THEN c.lead_practitioner ELSE p.operator END) AS practitioner, -- title: Practitioner
    level_of(coalesce(t.tie_type, c.tie_type)) AS tie_type, -- title: Kind of tongue-tie
    level_of((c.deprivation_decile + 1) // 2) AS deprivation_fifth, -- title: Deprivation fifth (for equity)
    level_of(c.ethnic_group) AS ethnic_group, -- title: Ethnic group (for equity)
    level_of(c.sex) AS sex, -- title: Sex
    yes_no_of(c.first_baby) AS first_baby, -- title: First baby (for equity)
    CASE
        WHEN c.age_days < 7 THEN '0-6'
        WHEN c.age_days < 14 THEN '7-13'
        WHEN c.age_days < 28 THEN '14-27'
        ELSE '28+'
    END AS age_band, -- title: Age at first contact, in days
    CASE WHEN c.divided_before THEN 'yes' ELSE 'no' END AS divided_before, -- title: Divided before this episode
    c.route AS route -- title: Route at the cut-off (only where asked)
FROM counted
JOIN cases AS c USING (case_ref)
LEFT JOIN procedures AS p USING (procedure_id)
LEFT JOIN tie_divided AS t USING (procedure_id)
