-- The tables of a store beside the seven of the layout: what was loaded, and what became of every line.
CREATE TABLE store.about (
    store_version INTEGER NOT NULL,
    made_by VARCHAR NOT NULL
);
CREATE TABLE store.loads (
    load INTEGER PRIMARY KEY,
    export VARCHAR NOT NULL,
    extracted_on DATE NOT NULL,
    fingerprint VARCHAR NOT NULL,
    made_by VARCHAR NOT NULL
);
CREATE TABLE store.files (
    load INTEGER NOT NULL,
    table_name VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sha256 VARCHAR NOT NULL,
    lines BIGINT NOT NULL,
    header BIGINT NOT NULL,
    blank BIGINT NOT NULL,
    accepted BIGINT NOT NULL,
    set_aside BIGINT NOT NULL,
    repeats BIGINT NOT NULL
);
CREATE TABLE store.set_aside (
    load INTEGER NOT NULL,
    file VARCHAR NOT NULL,
    line BIGINT NOT NULL,
    last_line BIGINT NOT NULL,
    table_name VARCHAR NOT NULL,
    column_name VARCHAR NOT NULL, -- empty where the whole line is meant
    kind VARCHAR NOT NULL, -- row or value
    found VARCHAR NOT NULL,
    allowed VARCHAR NOT NULL,
    mend VARCHAR NOT NULL
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
