package store

import (
	"context"
	"database/sql"
	"pinwright/wheel"
	"strconv"
	"strings"
)

// MaxLeaveCode is how many digits the code may have with which the visitors'
// screen is left.
const MaxLeaveCode = 12

// Visitors is how the house wants its visitors to turn the crank.
type Visitors struct {
	Margin    float64 // the part of the highest safe tempo that is kept off, 0 to below 1
	LeaveCode string  // digits with which the visitors' screen is left; empty: none are asked for
}

// Visitors reads what was settled for visitors; a margin of a tenth until the
// house settles another.
func (s *Store) Visitors(ctx context.Context) (v Visitors, err error) {
	err = s.reader.QueryRowContext(ctx, `SELECT margin, leave_code FROM settings`).Scan(&v.Margin, &v.LeaveCode)
	return v, failed("reading the settings", err)
}

// SetMargin settles the margin below the highest safe tempo.
func (s *Store) SetMargin(ctx context.Context, margin float64) error {
	if !(margin >= 0 && margin < 1) {
		return wheel.Refuse(wheel.ErrInvalid, "the margin is %s %% of the highest safe tempo; it should be from 0 to below 100 %%", strconv.FormatFloat(margin*100, 'g', 10, 64))
	}
	return s.change(ctx, "keeping the margin", func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE settings SET margin = ?`, margin)
		return err
	})
}

// SetLeaveCode settles the digits with which the visitors' screen is left.
func (s *Store) SetLeaveCode(ctx context.Context, code string) error {
	if len(code) > MaxLeaveCode || strings.Trim(code, "0123456789") != "" {
		return wheel.Refuse(wheel.ErrInvalid, "the code should be up to %d digits, or empty where none is to be asked for", MaxLeaveCode)
	}
	return s.change(ctx, "keeping the code", func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE settings SET leave_code = ?`, code)
		return err
	})
}
