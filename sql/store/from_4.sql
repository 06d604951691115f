-- A store of version 4 (each of its tables renamed was_...) into the tables of this one. Its loads kept no
-- headings. The tables of the layout follow in Python.
INSERT INTO store.events FROM store.was_events;
INSERT INTO store.loads FROM store.was_loads;
INSERT INTO store.files FROM store.was_files;
INSERT INTO store.set_aside FROM store.was_set_aside;
INSERT INTO store.repeats FROM store.was_repeats;
INSERT INTO store.remarks FROM store.was_remarks;
INSERT INTO store.reports FROM store.was_reports;
