-- +goose Up

-- Marks the file as ours: "Pinw" in ASCII.
PRAGMA application_id = 0x50696e77;

-- Ids are never given twice (AUTOINCREMENT), so that an old link or a log
-- never points at something else. Columns worked out from the file's text
-- stand before it, where a listing reads them without reading the file.
-- Times are microseconds since 1970, UTC.

CREATE TABLE machines (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    name       TEXT    NOT NULL GENERATED ALWAYS AS (json_extract(file, '$.name')) STORED,
    channels   INTEGER NOT NULL GENERATED ALWAYS AS (json_array_length(file, '$.channels')) STORED,
    revision   INTEGER NOT NULL DEFAULT 1,
    added_us   INTEGER NOT NULL,
    changed_us INTEGER NOT NULL,
    file       TEXT    NOT NULL
) STRICT;

CREATE UNIQUE INDEX machines_name ON machines (name);

-- One file may hold several songs (Standard MIDI File, format 2).
CREATE TABLE song_files (
    id     INTEGER PRIMARY KEY AUTOINCREMENT,
    sha256 BLOB    NOT NULL UNIQUE CHECK (length(sha256) = 32),
    name   TEXT    NOT NULL,
    size   INTEGER NOT NULL GENERATED ALWAYS AS (length(bytes)) STORED,
    bytes  BLOB    NOT NULL
) STRICT;

CREATE TABLE songs (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    file_id  INTEGER NOT NULL REFERENCES song_files (id),
    track    INTEGER NOT NULL CHECK (track >= 0),
    title    TEXT    NOT NULL,
    added_us INTEGER NOT NULL,
    UNIQUE (file_id, track)
) STRICT;

-- The file's text leaves out the machine's name: machine_id says it.
-- tempo_bpm is the number as the file writes it, digit for digit.
CREATE TABLE pinnings (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    machine_id INTEGER NOT NULL REFERENCES machines (id),
    song_id    INTEGER REFERENCES songs (id) ON DELETE SET NULL,
    title      TEXT    NOT NULL GENERATED ALWAYS AS (json_extract(file, '$.title')) STORED,
    tempo_bpm  TEXT    NOT NULL GENERATED ALWAYS AS (file -> '$.tempo_bpm') STORED,
    pins       INTEGER NOT NULL GENERATED ALWAYS AS (json_array_length(file, '$.pins')) STORED,
    revision   INTEGER NOT NULL DEFAULT 1,
    added_us   INTEGER NOT NULL,
    changed_us INTEGER NOT NULL,
    file       TEXT    NOT NULL
) STRICT;

CREATE INDEX pinnings_machine ON pinnings (machine_id);
CREATE INDEX pinnings_song ON pinnings (song_id);

-- One row, a column for each setting.
CREATE TABLE settings (
    id                 INTEGER PRIMARY KEY CHECK (id = 1),
    current_machine_id INTEGER REFERENCES machines (id) ON DELETE SET NULL,
    demo_added         INTEGER NOT NULL DEFAULT 0 CHECK (demo_added IN (0, 1))
) STRICT;

INSERT INTO settings (id) VALUES (1);
