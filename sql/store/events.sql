-- Everything that happened to the store, in order, for the person who keeps it; never for a report.
WITH received AS (
    SELECT
        load,
        sum(lines)::BIGINT AS lines,
        sum(accepted)::BIGINT AS accepted,
        sum(set_aside)::BIGINT AS set_aside,
        sum(repeats)::BIGINT AS repeats,
        sum(left_out)::BIGINT AS left_out
    FROM store.files
    GROUP BY load
),
held AS (
    SELECT
        load,
        count(*) AS cases
    FROM store.cases
    GROUP BY load
),
counting AS (
    SELECT
        load,
        count(*) AS cases
    FROM counting_cases
    GROUP BY load
)
SELECT
    e.event,
    e.kind,
    e.of_load,
    e.reason,
    coalesce(l.export, '') AS export,
    coalesce(l.source, '') AS source,
    l.extracted_on AS cut_off,
    coalesce(r.lines, 0) AS lines,
    coalesce(r.accepted, 0) AS accepted,
    coalesce(r.set_aside, 0) AS set_aside,
    coalesce(r.repeats, 0) AS repeats,
    coalesce(r.left_out, 0) AS left_out,
    coalesce(h.cases, 0) AS cases,
    w.event AS withdrawn_by,
    coalesce(c.cases, 0) AS counting,
    coalesce(l.accepted_anyway, '') AS accepted_anyway
FROM store.events AS e
LEFT JOIN store.loads AS l ON l.load = e.event
LEFT JOIN store.events AS w
    ON w.kind = 'withdrawal' -- at most one: a load is withdrawn once
    AND w.of_load = l.load
LEFT JOIN received AS r ON r.load = l.load
LEFT JOIN held AS h ON h.load = l.load
LEFT JOIN counting AS c ON c.load = l.load
ORDER BY e.event
