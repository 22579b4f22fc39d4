-- +goose Up

-- A figure that a machine's file leaves out is not 0 but unknown: NULL in
-- from_value before it was given, in to_value after it was left out.
CREATE TABLE changed_figures_new (
    change_id  INTEGER NOT NULL REFERENCES machine_changes (id) ON DELETE CASCADE,
    path       TEXT    NOT NULL,
    from_value REAL,
    to_value   REAL,
    PRIMARY KEY (change_id, path)
) STRICT, WITHOUT ROWID;

INSERT INTO changed_figures_new SELECT change_id, path, from_value, to_value FROM changed_figures;

DROP TABLE changed_figures;

ALTER TABLE changed_figures_new RENAME TO changed_figures;
