-- Whose six-week question is open on the day $on, or opens within $days days of it, and was not answered; one row a case.
--
-- Who: those the six-week measures ask about (breastfed at first contact, first seen younger than 28 days), without an
-- answer dated in the window of 35 to 56 days of age, both days included. An answer before or after the window does not
-- count, nor does being asked without an answer: the family may still be asked.
--
-- Ringing a family whose baby has died is the worst this list could do. So:
--   whoever any load in force says died is nowhere in here, in no row and so in no count, even where the case counts as
--   another load has it (the table died); nor is a case that counts as moved;
--   whoever the store does not know well enough is `held`: the row says why, and nobody is to be contacted from it.
-- Odd cases that are held:
--   a newer row of the case was set aside whole: what it said is not known, and it may have said that the baby died;
--   a value of the case's row was set aside, in whichever column: a death may be written where it could not be read. A
--     store of version 1 did not keep whose value it was, so the line tells as well;
--   the newest load of the case's own source does not carry it: records are taken out of exports for a reason;
--   closed without a reason, or for a reason without a day: what happened is half written;
--   closed as care_elsewhere: others look after the family now;
--   an export that was withdrawn since had it closed as died, moved or care_elsewhere: withdrawn does not mean untrue.
-- Closed as settled, no_reply or stopped_breastfeeding: the question is still asked, as in the measures; the row says so.
-- A window that closed before the day is past asking: `closed`, only to be counted, and only those of the last 28 days
-- that would not be held.
WITH values_set_aside AS (
    SELECT
        c.case_ref,
        string_agg(DISTINCT s.column_name, ', ' ORDER BY s.column_name) AS columns
    FROM counting_cases AS c
    JOIN store.set_aside AS s -- one to many
        ON s.load = c.load
        AND s.table_name = 'cases'
        AND s.kind = 'value'
        AND (s.case_ref = c.case_ref OR (s.file = c.file AND c.line BETWEEN s.line AND s.last_line))
    GROUP BY c.case_ref
),
closed_in_withdrawn AS (
    SELECT
        w.case_ref,
        max(w.load) AS load
    FROM store.cases AS w
    WHERE w.closed_reason IN ('died', 'moved', 'care_elsewhere')
        AND NOT EXISTS (
            SELECT 1
            FROM loads_in_force AS l
            WHERE l.load = w.load
        )
    GROUP BY w.case_ref
),
asked AS (
    SELECT
        c.case_ref,
        c.site,
        c.lead_practitioner,
        k.closed_reason,
        c.cut_off,
        q.first_day,
        c.six_week_date AS six_weeks_on,
        q.last_day,
        concat_ws(
            '; ',
            'a newer row of it could not be used (load ' || k.set_aside_in || ')',
            'part of its row could not be used: ' || v.columns || ' (load ' || k.load || ')',
            CASE
                WHEN n.load <> k.load AND k.set_aside_in IS DISTINCT FROM n.load
                    THEN 'the newest export of its source no longer carries it (load ' || n.load || ')'
            END,
            CASE WHEN k.closed_reason IS NULL AND k.closed_date IS NOT NULL THEN 'closed, without a reason' END,
            CASE
                WHEN k.closed_reason IS NOT NULL AND k.closed_date IS NULL THEN 'a reason for closing, without a day'
            END,
            CASE WHEN k.closed_reason = 'care_elsewhere' THEN 'closed: care elsewhere' END,
            'an export that was withdrawn since had it closed (load ' || w.load || ')'
        ) AS why_held
    FROM cases AS c
    JOIN six_week_question AS q USING (case_ref)
    JOIN counting_cases AS k USING (case_ref)
    JOIN loads_in_force AS l ON l.load = k.load
    JOIN newest_loads AS n ON n.source = l.source
    LEFT JOIN values_set_aside AS v USING (case_ref)
    LEFT JOIN closed_in_withdrawn AS w USING (case_ref)
    ANTI JOIN died USING (case_ref)
    WHERE q.asked
        AND c.six_week_feeding IS NULL
        AND k.closed_reason IS DISTINCT FROM 'moved'
),
placed AS (
    SELECT
        *,
        CAST(last_day - CAST($on AS DATE) AS INTEGER) AS days_left,
        CASE
            WHEN last_day < $on THEN 'closed'
            WHEN why_held <> '' THEN 'held'
            WHEN first_day > $on THEN 'opens'
            WHEN last_day > CAST($on AS DATE) + CAST($days AS INTEGER) THEN 'open'
            ELSE 'closing'
        END AS place
    FROM asked
)
SELECT
    place,
    case_ref,
    site,
    lead_practitioner,
    first_day,
    six_weeks_on,
    last_day,
    days_left,
    closed_reason,
    cut_off,
    why_held
FROM placed
WHERE first_day <= CAST($on AS DATE) + CAST($days AS INTEGER)
    AND (place <> 'closed' OR (days_left >= -28 AND why_held = ''))
ORDER BY
    last_day,
    case_ref
