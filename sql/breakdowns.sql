-- One column a breakdown; its level is text, and not_recorded where nothing is recorded, so that levels add up to all.
-- `counted` is the rows of a measure. Where they are divisions, the practitioner is the operator and the tie type that of
-- the division. A request that is no case has the levels it says itself.
-- A comment behind a column gives its title; one marked `only where asked` is for measures that say
-- also_by, one marked `for equity` stands in the part of the page that asks who is served less well, and one marked
-- `in a file of its own` is in no page and no file of an ordinary report; one marked `published` is in the published one; by one marked `for the
-- missing` those heard from and those not are compared; the levels of one marked `in order` are steps, as their names sort.
SELECT
    counted.*,
    'all' AS "all", -- title: Everyone
    level_of(c.site) AS site, -- title: Site (published) (for the missing)
    level_of(CASE WHEN counted.division_id IS NULL THEN c.lead_practitioner ELSE d.operator END) AS practitioner, -- title: Practitioner (in a file of its own)
    level_of(CASE WHEN counted.division_id IS NULL THEN c.tie_type ELSE t.tie_type END) AS tie_type, -- title: Kind of tongue-tie (published) (for the missing)
    level_of((c.deprivation_decile + 1) // 2) AS deprivation_fifth, -- title: Deprivation fifth (for equity) (in order) (published) (for the missing)
    level_of(c.ethnic_group) AS ethnic_group, -- title: Ethnic group (for equity) (published)
    level_of(c.sex) AS sex, -- title: Sex (published)
    yes_no_of(c.first_baby) AS first_baby, -- title: First baby (for equity)
    CASE
        WHEN c.age_days < 7 THEN '0-6'
        WHEN c.age_days < 14 THEN '7-13'
        WHEN c.age_days < 28 THEN '14-27'
        WHEN c.age_days >= 28 THEN '28+'
        ELSE 'not_recorded'
    END AS age_band, -- title: Age at first contact, in days (published) (for the missing)
    level_of(CASE WHEN c.gestation_weeks < 37 THEN 'under_37' WHEN c.gestation_weeks >= 37 THEN '37_or_more' END) AS gestation, -- title: Weeks of pregnancy at birth
    level_of(c.referral_source) AS referral_source, -- title: Who asked for help
    yes_no_of(c.interpreter_needed) AS interpreter_needed, -- title: Interpreter needed (for equity)
    yes_no_of(c.multiple_birth) AS multiple_birth, -- title: Twin or more
    yes_no_of(c.divided_before) AS divided_before, -- title: Divided before this episode
    level_of(c.feeding_at_first_contact) AS feeding_at_first_contact, -- title: Feeding at first contact (only where asked) (for the missing)
    level_of(c.route) AS route -- title: Where cases stand (only where asked) (for the missing)
FROM counted
JOIN levels AS c USING (case_ref)
LEFT JOIN divisions AS d USING (division_id)
LEFT JOIN tie_divided AS t USING (division_id)
