-- What was set aside of a case, or mentions it, by load.
SELECT
    load,
    count(*) AS findings
FROM store.set_aside
WHERE case_ref = $ref
    OR regexp_matches(found, $mention)
GROUP BY load
