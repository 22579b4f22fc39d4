package store

import (
	"context"
	"database/sql"
)

// DemoAdded reports whether the demo was added to this store before, so that
// who removes it does not get it back.
func (s *Store) DemoAdded(ctx context.Context) (added bool, err error) {
	err = s.reader.QueryRowContext(ctx, `SELECT demo_added FROM settings`).Scan(&added)
	return added, failed("reading the settings", err)
}

// SetDemoAdded notes that the demo was added.
func (s *Store) SetDemoAdded(ctx context.Context) error {
	return s.change(ctx, "noting that the demo was added", func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE settings SET demo_added = 1`)
		return err
	})
}
