-- A store of version 1 (each of its tables renamed was_...) into the tables of this one. Its loads were numbered
-- without a gap, so each number stands as the number of its event. The tables of the layout follow in Python.
INSERT INTO store.events
SELECT
    load,
    'load',
    NULL,
    '',
    made_by
FROM store.was_loads
ORDER BY load;
INSERT INTO store.loads
SELECT
    load,
    export,
    '',
    extracted_on,
    fingerprint,
    '',
    ''
FROM store.was_loads
ORDER BY load;
INSERT INTO store.files
SELECT
    load,
    file,
    sha256,
    lines,
    header,
    blank,
    accepted,
    set_aside,
    repeats,
    0 -- it left nothing out on purpose
FROM store.was_files;
INSERT INTO store.set_aside
SELECT
    load,
    file,
    line,
    last_line,
    table_name,
    column_name,
    column_name, -- its exports were in the layout
    kind,
    found,
    allowed,
    mend,
    '' -- it did not say whose row it was
FROM store.was_set_aside;
INSERT INTO store.repeats FROM store.was_repeats;
INSERT INTO store.remarks FROM store.was_remarks;
