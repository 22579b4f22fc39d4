package store

import (
	"context"
	"database/sql"
)

// editStatements is what every edit runs, prepared once: to read the text of
// a statement takes SQLite longer than to run it.
type editStatements struct {
	kept, opened, holes, add, setHoles, count *sql.Stmt
}

func (s *editStatements) prepare(ctx context.Context, writer *sql.DB) (err error) {
	for _, one := range []struct {
		to   **sql.Stmt
		text string
	}{
		{&s.kept, `SELECT ` + editColumns + `, asked FROM edits WHERE pinning_id = ? AND edit_id = ?`},
		{&s.opened, `
			SELECT p.machine_id, m.revision, p.head, p.pins, p.revision, coalesce(e.seq, 0), coalesce(e.undo_seq, 0), coalesce(e.redo_seq, 0)
			FROM pinnings AS p
			JOIN machines AS m ON m.id = p.machine_id
			LEFT JOIN edits AS e ON e.pinning_id = p.id AND e.seq = (SELECT max(seq) FROM edits WHERE pinning_id = p.id)
			WHERE p.id = ?`},
		{&s.holes, `
			SELECT c.key, h.pinned, h.aim, h.seq, coalesce(e.by_whom, '')
			FROM json_each(?) AS c
			CROSS JOIN holes AS h ON h.pinning_id = ? AND h.step = c.value ->> 'step' AND h.channel = c.value ->> 'channel'
			LEFT JOIN edits AS e ON e.pinning_id = h.pinning_id AND e.seq = h.seq`},
		{&s.add, `
			INSERT INTO edits (pinning_id, seq, edit_id, asked, at_us, by_whom, kind, of_seq, words, undo_seq, redo_seq, changes, held, head)
			VALUES (?, ?, nullif(?, ''), ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`},
		{&s.setHoles, `
			INSERT INTO holes (pinning_id, step, channel, pinned, aim, seq)
			SELECT ?, value ->> 'step', value ->> 'channel', value -> 'now' IS NOT NULL, value -> 'now' -> 'aim', ?
			FROM json_each(?) WHERE true
			ON CONFLICT (pinning_id, step, channel) DO UPDATE SET pinned = excluded.pinned, aim = excluded.aim, seq = excluded.seq`},
		{&s.count, `UPDATE pinnings SET pins = pins + ?, revision = revision + 1, changed_us = ? WHERE id = ?`},
	} {
		if *one.to, err = writer.PrepareContext(ctx, one.text); err != nil {
			return err
		}
	}
	return nil
}
