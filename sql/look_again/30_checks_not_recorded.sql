-- title: Checks not made or not recorded before a division
-- why: Divided in the period by this service, and of consent, bleeding history and vitamin K at least one is not on record, or is recorded as not done. The practitioner is its operator.
-- Vitamin K declined, or not given, is an answer: the check was made.
WITH checked AS (
    SELECT
        case_ref,
        operator,
        division_date,
        CASE WHEN consent_recorded THEN NULL WHEN NOT consent_recorded THEN 'no' ELSE 'not recorded' END AS consent,
        CASE
            WHEN bleeding_history_asked THEN NULL
            WHEN NOT bleeding_history_asked THEN 'not asked'
            ELSE 'not recorded'
        END AS bleeding_history,
        CASE WHEN vitamin_k IS NULL THEN 'not recorded' END AS vitamin_k
    FROM own_divisions
    WHERE period_of(division_date) = $period
)
SELECT
    case_ref,
    operator AS practitioner,
    division_date AS day,
    concat_ws('; ', 'consent: ' || consent, 'bleeding history: ' || bleeding_history, 'vitamin K: ' || vitamin_k) AS detail
FROM checked
WHERE coalesce(consent, bleeding_history, vitamin_k) IS NOT NULL
ORDER BY
    day,
    case_ref
