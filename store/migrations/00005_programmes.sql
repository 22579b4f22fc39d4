-- +goose Up

-- A programme for visitors. It stays when its machine goes, whose name it keeps.
CREATE TABLE programmes (
    id           INTEGER PRIMARY KEY AUTOINCREMENT,
    machine_id   INTEGER REFERENCES machines (id) ON DELETE SET NULL,
    machine_name TEXT    NOT NULL,
    added_us     INTEGER NOT NULL
) STRICT;

CREATE INDEX programmes_machine ON programmes (machine_id);

-- A programme as each change left it, 1, 2, 3 … in version. Rows are added and
-- never changed. of_version is the one that a return went back to, 0 for none.
-- body is JSON: the name, the songs in their order, and what goes with them. Its
-- songs name pinnings by id; those may be gone.
CREATE TABLE programme_versions (
    programme_id INTEGER NOT NULL REFERENCES programmes (id) ON DELETE CASCADE,
    version      INTEGER NOT NULL CHECK (version > 0),
    at_us        INTEGER NOT NULL,
    by_whom      TEXT    NOT NULL,
    words        TEXT    NOT NULL,
    of_version   INTEGER NOT NULL CHECK (of_version BETWEEN 0 AND version - 1),
    name         TEXT    NOT NULL GENERATED ALWAYS AS (json_extract(body, '$.name')) STORED,
    songs        INTEGER NOT NULL GENERATED ALWAYS AS (json_array_length(body, '$.songs')) STORED,
    body         TEXT    NOT NULL,
    PRIMARY KEY (programme_id, version)
) STRICT;

-- The margin kept below the highest safe tempo, a part of it, and the digits
-- with which the visitors' screen is left; empty: none are asked for.
ALTER TABLE settings ADD COLUMN margin REAL NOT NULL DEFAULT 0.1 CHECK (margin >= 0 AND margin < 1);
ALTER TABLE settings ADD COLUMN leave_code TEXT NOT NULL DEFAULT '1234' CHECK (leave_code NOT GLOB '*[^0-9]*');
