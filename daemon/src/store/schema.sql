-- The history, version 1. Random 64-bit numbers are stored as signed integers of the same bits.

-- Facts about this file: store_id (random), created_ms (wall clock at creation, 0 if unknown), samples_dropped.
CREATE TABLE meta (
    key   TEXT PRIMARY KEY,
    value INTEGER NOT NULL
) WITHOUT ROWID;

-- Short names of units. Samples carry the number.
CREATE TABLE unit (
    number INTEGER PRIMARY KEY,
    id     TEXT NOT NULL UNIQUE
);

-- Starts of the program. offset_ms = date minus monotonic time, once a date was known: it dates what was written before.
CREATE TABLE boot (
    number    INTEGER PRIMARY KEY AUTOINCREMENT,
    boot      INTEGER NOT NULL UNIQUE,
    offset_ms INTEGER
);

-- Append-only. A change is a new revision; the highest counts.
CREATE TABLE record (
    sequence     INTEGER PRIMARY KEY AUTOINCREMENT,
    unit         TEXT NOT NULL,
    kind         TEXT NOT NULL,             -- log, run, baseline, alert, parts, node
    about        TEXT NOT NULL,             -- alerts: the finding and what it is about; else empty
    id           INTEGER NOT NULL,          -- number of the record; alerts: occurrence
    revision     INTEGER NOT NULL,
    boot         INTEGER NOT NULL,
    monotonic_ms INTEGER NOT NULL,
    wall_ms      INTEGER,
    body         TEXT NOT NULL,             -- one line of JSON
    checksum     INTEGER NOT NULL,          -- 64-bit FNV-1a of body
    UNIQUE (unit, kind, about, id, revision)
);

-- One wide row per unit and time, in the order of time: sequence numbers follow (boot, monotonic_ms), so that a time is found by
-- halving and no index costs a page per batch. A column per quantity, named as its JSON key, is added when the file is opened.
CREATE TABLE sample (
    sequence     INTEGER PRIMARY KEY,
    unit         INTEGER NOT NULL,
    boot         INTEGER NOT NULL,          -- boot.number
    monotonic_ms INTEGER NOT NULL,
    wall_ms      INTEGER,
    state        INTEGER,
    run          INTEGER NOT NULL           -- number of the open run, 0 if none
);
