-- The tables of a store beside those of the layout: what happened to it, what was loaded, what became of every
-- line. Rows are only ever added. Erasing a case, which the law may ask for, writes a new store without it.
CREATE TABLE store.about (
    store_version INTEGER NOT NULL,
    made_by VARCHAR NOT NULL
);
-- One numbering for all that happens. The number of a load is that of its event.
CREATE TABLE store.events (
    event INTEGER PRIMARY KEY,
    kind VARCHAR NOT NULL CHECK (kind IN ('load', 'withdrawal', 'erasure')),
    of_load INTEGER, -- the load withdrawn
    reason VARCHAR NOT NULL,
    made_by VARCHAR NOT NULL -- the version of the program
);
CREATE TABLE store.loads (
    load INTEGER PRIMARY KEY,
    export VARCHAR NOT NULL,
    source VARCHAR NOT NULL, -- loads of one source are compared with each other
    extracted_on DATE NOT NULL,
    fingerprint VARCHAR NOT NULL,
    mapping VARCHAR NOT NULL, -- the text of the mapping file, empty where there was none
    accepted_anyway VARCHAR NOT NULL -- why, where the export was held back first; else empty
);
-- One row a sheet; file is its label.
CREATE TABLE store.files (
    load INTEGER NOT NULL,
    file VARCHAR NOT NULL,
    sha256 VARCHAR NOT NULL,
    lines BIGINT NOT NULL,
    header BIGINT NOT NULL,
    blank BIGINT NOT NULL,
    accepted BIGINT NOT NULL,
    set_aside BIGINT NOT NULL,
    repeats BIGINT NOT NULL,
    left_out BIGINT NOT NULL
);
-- The sheets of a load, each with '', and their columns, read or not. A load by an older program has none.
CREATE TABLE store.headings (
    load INTEGER NOT NULL,
    sheet VARCHAR NOT NULL,
    column_name VARCHAR NOT NULL
);
CREATE TABLE store.set_aside (
    load INTEGER NOT NULL,
    file VARCHAR NOT NULL,
    line BIGINT NOT NULL,
    last_line BIGINT NOT NULL,
    table_name VARCHAR NOT NULL,
    column_name VARCHAR NOT NULL, -- of the layout; empty where the whole line is meant
    said_as VARCHAR NOT NULL, -- what the sheet calls the column
    kind VARCHAR NOT NULL, -- row or value
    found VARCHAR NOT NULL,
    allowed VARCHAR NOT NULL,
    mend VARCHAR NOT NULL,
    case_ref VARCHAR NOT NULL -- whose row it is, empty where that is not known
);
CREATE TABLE store.repeats (
    load INTEGER NOT NULL,
    file VARCHAR NOT NULL,
    line BIGINT NOT NULL,
    last_line BIGINT NOT NULL
);
CREATE TABLE store.remarks (
    load INTEGER NOT NULL,
    remark VARCHAR NOT NULL,
    serious BOOLEAN NOT NULL
);
-- What each report was made with, so that it can be made again as it was.
CREATE TABLE store.reports (
    report INTEGER PRIMARY KEY,
    quarter VARCHAR NOT NULL,
    as_loaded INTEGER NOT NULL, -- the newest event at the time
    made_by VARCHAR NOT NULL,
    settings VARCHAR NOT NULL,
    commentary VARCHAR NOT NULL,
    commentary_before VARCHAR NOT NULL -- those on earlier periods, whose open actions the report brings forward
);
