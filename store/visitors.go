package store

import (
	"context"
	"database/sql"

	"pinwright/wheel/programme"
)

// Visitors is how the house wants its visitors to turn the crank.
type Visitors struct {
	Margin    float64 // the part of the red line that is kept off, 0 to below 1
	LeaveCode string  // digits that visitors' screens ask for before they are left; empty: none
}

// Visitors reads the house's choices for its visitors. The margin is a tenth until
// the house chooses another.
func (s *Store) Visitors(ctx context.Context) (v Visitors, err error) {
	err = s.reader.QueryRowContext(ctx, `SELECT margin, leave_code FROM settings`).Scan(&v.Margin, &v.LeaveCode)
	return v, failed("reading the settings", err)
}

// SetMargin keeps the margin below the red line.
func (s *Store) SetMargin(ctx context.Context, margin float64) error {
	if err := programme.CheckMargin(margin); err != nil {
		return err
	}
	return s.change(ctx, "keeping the margin", func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE settings SET margin = ?`, margin)
		return err
	})
}

// SetLeaveCode keeps the code that visitors' screens ask for.
func (s *Store) SetLeaveCode(ctx context.Context, code string) error {
	if err := programme.CheckLeaveCode(code); err != nil {
		return err
	}
	return s.change(ctx, "keeping the code", func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE settings SET leave_code = ?`, code)
		return err
	})
}
