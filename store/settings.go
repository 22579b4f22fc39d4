package store

import (
	"context"
	"database/sql"

	"pinwright/wheel"
)

// CurrentMachine is the id of the machine that the crew works on, 0 while
// none was chosen or after that one was removed.
func (s *Store) CurrentMachine(ctx context.Context) (id int64, err error) {
	err = s.reader.QueryRowContext(ctx, `SELECT coalesce(current_machine_id, 0) FROM settings`).Scan(&id)
	return id, failed("reading the settings", err)
}

// SetCurrentMachine chooses the machine that the crew works on; 0 chooses
// none.
func (s *Store) SetCurrentMachine(ctx context.Context, id int64) error {
	return s.change(ctx, "choosing the machine", func(tx *sql.Tx) error {
		var there bool
		err := tx.QueryRowContext(ctx, `SELECT ? = 0 OR EXISTS (SELECT 1 FROM machines WHERE id = ?)`, id, id).Scan(&there)
		if err != nil {
			return err
		}
		if !there {
			return wheel.Refuse(wheel.ErrNotFound, "there is no machine %d; it may have been removed", id)
		}
		_, err = tx.ExecContext(ctx, `UPDATE settings SET current_machine_id = nullif(?, 0)`, id)
		return err
	})
}
