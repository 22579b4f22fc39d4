-- +goose Up

-- A dated change of a machine's figures, with the reason for it. The machine's
-- file is as the last change left it.
CREATE TABLE machine_changes (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    machine_id INTEGER NOT NULL REFERENCES machines (id) ON DELETE CASCADE,
    at_us      INTEGER NOT NULL,
    reason     TEXT    NOT NULL CHECK (trim(reason) <> '')
) STRICT;

CREATE INDEX machine_changes_machine ON machine_changes (machine_id);

CREATE TABLE changed_figures (
    change_id  INTEGER NOT NULL REFERENCES machine_changes (id) ON DELETE CASCADE,
    path       TEXT    NOT NULL,
    from_value REAL    NOT NULL,
    to_value   REAL    NOT NULL,
    PRIMARY KEY (change_id, path)
) STRICT, WITHOUT ROWID;
