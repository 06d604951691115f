-- A store of version 2 (each of its tables renamed was_...) into the tables of this one. Its reports did not show the
-- commentary of the quarter before, and did not record it. The tables of the layout follow in Python.
INSERT INTO store.events FROM store.was_events;
INSERT INTO store.loads FROM store.was_loads;
INSERT INTO store.files
SELECT
    *,
    0 -- it left nothing out on purpose
FROM store.was_files;
INSERT INTO store.set_aside FROM store.was_set_aside;
INSERT INTO store.repeats FROM store.was_repeats;
INSERT INTO store.remarks FROM store.was_remarks;
INSERT INTO store.reports
SELECT
    report,
    quarter,
    as_loaded,
    made_by,
    settings,
    commentary,
    ''
FROM store.was_reports
ORDER BY report;
