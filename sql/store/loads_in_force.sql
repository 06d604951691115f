-- The loads that count as the store stood at the event of as_loaded: loaded by then, and not withdrawn by then.
-- What a report reads of loads it reads from here and nowhere else, so that one made again as of an event sees nothing
-- later.
SELECT
    l.load,
    l.export,
    l.source,
    l.extracted_on,
    (l.extracted_on, l.load) AS place, -- of two loads the newer one has the later place
    l.fingerprint,
    l.mapping,
    l.accepted_anyway
FROM store.loads AS l
CROSS JOIN as_loaded AS a
WHERE l.load <= a.event
    AND NOT EXISTS (
        SELECT 1
        FROM store.events AS e
        WHERE e.kind = 'withdrawal'
            AND e.of_load = l.load
            AND e.event <= a.event
    )
