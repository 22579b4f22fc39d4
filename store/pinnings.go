package store

import (
	"context"
	"database/sql"
	"errors"
	"strconv"
	"time"

	"pinwright/wheel"
)

// PinningRow is a pinning as a listing shows it.
type PinningRow struct {
	ID        int64
	MachineID int64
	SongID    int64 // 0: of no song that is kept
	Title     string
	TempoBPM  float64 // 0: none given
	Pins      int
	Revision  int // 1 when added, one more with every change
	Added     time.Time
	Changed   time.Time
}

// Pinning is a pinning with its file, which names the machine as it is called
// now.
type Pinning struct {
	PinningRow
	File *wheel.Pinning
}

const pinningColumns = `id, machine_id, coalesce(song_id, 0), title, tempo_bpm, pins, revision, added_us, changed_us`

func scanPinning(row scanner, more ...any) (PinningRow, error) {
	var p PinningRow
	var tempo string
	var added, changed int64
	err := row.Scan(append([]any{&p.ID, &p.MachineID, &p.SongID, &p.Title, &tempo, &p.Pins, &p.Revision, &added, &changed}, more...)...)
	if err != nil {
		return p, err
	}
	p.Added, p.Changed = timeOf(added), timeOf(changed)
	p.TempoBPM, err = strconv.ParseFloat(tempo, 64)
	return p, err
}

// Pinnings lists the pinnings of a machine by title.
func (s *Store) Pinnings(ctx context.Context, machineID int64) ([]PinningRow, error) {
	return list(ctx, s.reader, "listing the pinnings",
		func(row scanner) (PinningRow, error) { return scanPinning(row) },
		`SELECT `+pinningColumns+` FROM pinnings WHERE machine_id = ? ORDER BY title COLLATE NOCASE, id`, machineID)
}

// Pinning is one pinning with its file, or [ErrNotFound].
func (s *Store) Pinning(ctx context.Context, id int64) (*Pinning, error) {
	p, err := pinning(ctx, s.reader, id)
	return p, failed("reading the pinning", err)
}

func pinning(ctx context.Context, q querier, id int64) (*Pinning, error) {
	var p Pinning
	var name string
	var text []byte
	var err error
	p.PinningRow, err = scanPinning(q.QueryRowContext(ctx,
		`SELECT `+pinningColumns+`, (SELECT name FROM machines WHERE id = machine_id), file
		FROM pinnings WHERE id = ?`, id), &name, &text)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, refuse(ErrNotFound, "there is no pinning %d; it may have been removed", id)
	}
	if err != nil {
		return nil, err
	}
	if p.File, err = wheel.ReadPinning(text); err != nil {
		return nil, refuseFor(ErrInvalid, err, "the file kept for pinning %s cannot be read by this version of the program: %s", p.Title, err)
	}
	p.File.Machine = name
	return &p, nil
}

// AddPinning keeps a pinning of a machine, and of a song or of none (0), and
// returns its id. The file has to fit the machine; the machine it names, if
// it names one, has to be that one.
func (s *Store) AddPinning(ctx context.Context, machineID, songID int64, file *wheel.Pinning) (id int64, err error) {
	text, err := pinningText(file)
	if err != nil {
		return 0, err
	}
	err = s.change(ctx, "adding the pinning", func(tx *sql.Tx) error {
		if err := fits(ctx, tx, machineID, file); err != nil {
			return err
		}
		if songID != 0 {
			if _, err := songRow(ctx, tx, songID); err != nil {
				return err
			}
		}
		now := s.nowUS()
		return tx.QueryRowContext(ctx,
			`INSERT INTO pinnings (machine_id, song_id, file, added_us, changed_us)
			VALUES (?, nullif(?, 0), ?, ?, ?) RETURNING id`,
			machineID, songID, text, now, now).Scan(&id)
	})
	return id, err
}

// ReplacePinning keeps a new file for a pinning. The revision is the one that
// the change started from: if the pinning has been changed since, it is
// refused ([ErrConflict]), so that nobody's work is overwritten unseen.
func (s *Store) ReplacePinning(ctx context.Context, id int64, revision int, file *wheel.Pinning) error {
	text, err := pinningText(file)
	if err != nil {
		return err
	}
	return s.change(ctx, "changing the pinning", func(tx *sql.Tx) error {
		var machineID int64
		var title string
		var current int
		err := tx.QueryRowContext(ctx, `SELECT machine_id, title, revision FROM pinnings WHERE id = ?`, id).
			Scan(&machineID, &title, &current)
		switch {
		case errors.Is(err, sql.ErrNoRows):
			return refuse(ErrNotFound, "there is no pinning %d; it may have been removed", id)
		case err != nil:
			return err
		case current != revision:
			return changedSince(title)
		}
		if err := fits(ctx, tx, machineID, file); err != nil {
			return err
		}
		return s.writePinning(ctx, tx, id, text)
	})
}

// RenamePinning gives a pinning another title.
func (s *Store) RenamePinning(ctx context.Context, id int64, title string) error {
	return s.change(ctx, "renaming the pinning", func(tx *sql.Tx) error {
		p, err := pinning(ctx, tx, id)
		if err != nil {
			return err
		}
		p.File.Title = title
		text, err := pinningText(p.File)
		if err != nil {
			return err
		}
		return s.writePinning(ctx, tx, id, text)
	})
}

// RemovePinning removes a pinning.
func (s *Store) RemovePinning(ctx context.Context, id int64) error {
	return s.change(ctx, "removing the pinning", func(tx *sql.Tx) error {
		return removed(ctx, tx, id, "pinning", `DELETE FROM pinnings WHERE id = ?`)
	})
}

func (s *Store) writePinning(ctx context.Context, tx *sql.Tx, id int64, text string) error {
	_, err := tx.ExecContext(ctx,
		`UPDATE pinnings SET file = ?, revision = revision + 1, changed_us = ? WHERE id = ?`,
		text, s.nowUS(), id)
	return err
}

// pinningText is the text to keep of a pinning: without the machine's name,
// which is kept with the machine.
func pinningText(file *wheel.Pinning) (string, error) {
	nameless := *file
	nameless.Machine = ""
	return textOf(&nameless, wheel.ReadPinning)
}

// fits refuses a pinning that names another machine than this one, or has
// pins where this one has no hole for them.
func fits(ctx context.Context, tx *sql.Tx, machineID int64, file *wheel.Pinning) error {
	m, err := machine(ctx, tx, machineID)
	if err != nil {
		return err
	}
	if file.Machine != "" && file.Machine != m.Name {
		return refuse(ErrConflict, "the pinning %s is for a machine called %s, and this one is called %s", file.Title, file.Machine, m.Name)
	}
	if err := file.CheckOn(m.File).Err(); err != nil {
		return refuseFor(ErrInvalid, err, "the pinning %s does not fit %s: %s", file.Title, m.Name, err)
	}
	return nil
}
