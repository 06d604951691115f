-- unique: division_id
-- One row a division: all rows of procedures of one case and day together. Elsewhere only if every row of it is.
-- Of several rows: more than one operator is `several`; the tie type and vitamin K are the one that comes last, and
-- first, in its list; a no beats a yes, and either beats nothing; of minutes the most count.
SELECT
    row_number() OVER (ORDER BY case_ref, procedure_date) AS division_id,
    case_ref,
    list(row_id ORDER BY row_id) AS row_ids, -- with the load of its case: the rows of the export it is
    procedure_date AS division_date,
    bool_and(elsewhere) AS elsewhere,
    CASE WHEN count(DISTINCT level_of(operator)) > 1 THEN 'several' ELSE any_value(operator) END AS operator,
    ['none', 'anterior', 'posterior', 'submucosal'][max(place_of_tie_type(tie_type))] AS tie_type,
    bool_and(consent_recorded) AS consent_recorded,
    bool_and(bleeding_history_asked) AS bleeding_history_asked,
    ['injection', 'oral', 'declined', 'not_given'][
        min(list_position(['injection', 'oral', 'declined', 'not_given'], vitamin_k))
    ] AS vitamin_k,
    max(minutes_to_first_feed) AS minutes_to_first_feed,
    bool_and(aftercare_advice) AS aftercare_advice
FROM procedures
GROUP BY
    case_ref,
    procedure_date
