-- +goose Up

-- What a change made another that is no figure: a name, a note, a route, a
-- reason, what was measured, a lane or channel that came or went. Empty where
-- there was or is nothing.
CREATE TABLE changed_texts (
    change_id INTEGER NOT NULL REFERENCES machine_changes (id) ON DELETE CASCADE,
    path      TEXT    NOT NULL,
    from_text TEXT    NOT NULL,
    to_text   TEXT    NOT NULL,
    PRIMARY KEY (change_id, path)
) STRICT, WITHOUT ROWID;
