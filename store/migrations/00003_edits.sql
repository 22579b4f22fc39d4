-- +goose Up

-- Pins leave the text of their pinning for a table, so that an edit costs no
-- more than what it changes. A hole stays here when its pin is pulled: seq
-- says which edit touched it last, 0 that it is as the pinning came in. An aim
-- is the number as a file writes it, digit for digit, or NULL where none is
-- given.
CREATE TABLE holes (
    pinning_id INTEGER NOT NULL REFERENCES pinnings (id) ON DELETE CASCADE,
    step       INTEGER NOT NULL CHECK (step >= 0),
    channel    TEXT    NOT NULL,
    pinned     INTEGER NOT NULL CHECK (pinned IN (0, 1)),
    aim        TEXT    CHECK (aim IS NULL OR pinned = 1),
    seq        INTEGER NOT NULL CHECK (seq >= 0),
    PRIMARY KEY (pinning_id, step, channel)
) STRICT, WITHOUT ROWID;

INSERT INTO holes (pinning_id, step, channel, pinned, aim, seq)
SELECT pinnings.id, pin.value ->> 'step', pin.value ->> 'channel', 1, pin.value -> 'aim', 0
FROM pinnings, json_each(pinnings.file, '$.pins') AS pin;

-- What is left of the text is the pinning's head: its file without pins.
ALTER TABLE pinnings DROP COLUMN pins;
ALTER TABLE pinnings RENAME COLUMN file TO head;
ALTER TABLE pinnings ADD COLUMN pins INTEGER NOT NULL DEFAULT 0 CHECK (pins >= 0);
UPDATE pinnings SET pins = json_array_length(head, '$.pins'), head = json_set(head, '$.pins', json('[]'));

-- Every edit of a pinning, 1, 2, 3 … in seq. Rows are added and never changed.
-- edit_id is the sender's name for it, by which an edit that is sent twice is
-- known; asked is a fingerprint of what was sent under it. of_seq is the edit
-- that an undo took back or a redo brought again, or the one that a return
-- went back to. changes, held and head are JSON: what was changed of pins,
-- what was held back, and what was changed besides pins.
--
-- undo_seq and redo_seq are the tops of two stacks as the edit left them: the
-- edit that undo takes back next, and the undo that redo takes back next. What
-- lies below an edit is what the row before it says.
CREATE TABLE edits (
    pinning_id INTEGER NOT NULL REFERENCES pinnings (id) ON DELETE CASCADE,
    seq        INTEGER NOT NULL CHECK (seq > 0),
    edit_id    TEXT,
    asked      INTEGER NOT NULL,
    at_us      INTEGER NOT NULL,
    by_whom    TEXT    NOT NULL,
    kind       TEXT    NOT NULL,
    of_seq     INTEGER NOT NULL,
    words      TEXT    NOT NULL,
    undo_seq   INTEGER NOT NULL CHECK (undo_seq BETWEEN 0 AND seq),
    redo_seq   INTEGER NOT NULL CHECK (redo_seq BETWEEN 0 AND seq),
    changes    TEXT    NOT NULL,
    held       TEXT,
    head       TEXT,
    PRIMARY KEY (pinning_id, seq)
) STRICT;

CREATE UNIQUE INDEX edits_id ON edits (pinning_id, edit_id) WHERE edit_id IS NOT NULL;

-- A name for a pinning as an edit left it; 0 is as it came in.
CREATE TABLE marks (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    pinning_id INTEGER NOT NULL REFERENCES pinnings (id) ON DELETE CASCADE,
    seq        INTEGER NOT NULL CHECK (seq >= 0),
    name       TEXT    NOT NULL CHECK (trim(name) <> ''),
    at_us      INTEGER NOT NULL,
    UNIQUE (pinning_id, name)
) STRICT;
