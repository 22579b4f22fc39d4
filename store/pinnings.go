package store

import (
	"context"
	"database/sql"
	"errors"
	"strconv"
	"time"

	"pinwright/wheel"
	"pinwright/wheel/file"
)

// PinningRow is a pinning as a listing shows it.
type PinningRow struct {
	ID        int64
	MachineID int64
	SongID    int64 // 0: of no song that is kept
	Title     string
	TempoBPM  float64 // 0: none given
	Pins      int
	Revision  int   // 1 when added, one more with every change
	Seq       int64 // of the last edit, 0 for none
	Added     time.Time
	Changed   time.Time
}

// Pinning is a pinning with its file, which names the machine as it is called
// now and has its pins as the wheel turns.
type Pinning struct {
	PinningRow
	File *wheel.Pinning
}

const pinningColumns = `id, machine_id, coalesce(song_id, 0), title, tempo_bpm, pins, revision,
	(SELECT coalesce(max(seq), 0) FROM edits WHERE pinning_id = pinnings.id), added_us, changed_us`

func scanPinning(row scanner, more ...any) (PinningRow, error) {
	var p PinningRow
	var tempo string
	var added, changed int64
	err := row.Scan(append([]any{&p.ID, &p.MachineID, &p.SongID, &p.Title, &tempo, &p.Pins, &p.Revision, &p.Seq, &added, &changed}, more...)...)
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

// Pinning is one pinning with its file, or [wheel.ErrNotFound].
func (s *Store) Pinning(ctx context.Context, id int64) (p *Pinning, err error) {
	err = s.view(ctx, "reading the pinning", func(tx *sql.Tx) error {
		p, err = pinning(ctx, tx, id)
		return err
	})
	if err != nil {
		return nil, err
	}
	return p, nil
}

func pinning(ctx context.Context, q querier, id int64) (*Pinning, error) {
	var p Pinning
	var name string
	var head []byte
	var err error
	p.PinningRow, err = scanPinning(q.QueryRowContext(ctx,
		`SELECT `+pinningColumns+`, (SELECT name FROM machines WHERE id = machine_id), head
		FROM pinnings WHERE id = ?`, id), &name, &head)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, noPinning(id)
	}
	if err != nil {
		return nil, err
	}
	if p.File, err = file.ReadPinning(head); err != nil {
		return nil, unreadable(p.Title, err)
	}
	if p.File.Pins, err = pinsOf(ctx, q, id, p.Pins); err != nil {
		return nil, err
	}
	if err := p.File.Check().Err(); err != nil {
		return nil, unreadable(p.Title, err)
	}
	p.File.Machine = name
	return &p, nil
}

func pinningRow(ctx context.Context, q querier, id int64) (PinningRow, error) {
	p, err := scanPinning(q.QueryRowContext(ctx, `SELECT `+pinningColumns+` FROM pinnings WHERE id = ?`, id))
	if errors.Is(err, sql.ErrNoRows) {
		return p, noPinning(id)
	}
	return p, err
}

func noPinning(id int64) error {
	return wheel.Refuse(wheel.ErrNotFound, "there is no pinning %d; it may have been removed", id)
}

func unreadable(title string, err error) error {
	return wheel.RefuseFor(wheel.ErrInvalid, err, "the pinning %s cannot be read by this version of the program: %s", title, err)
}

// AddPinning keeps a pinning of a machine, and of a song or of none (0), and
// returns its id. The file has to fit the machine; the machine it names, if
// it names one, has to be that one.
func (s *Store) AddPinning(ctx context.Context, machineID, songID int64, file *wheel.Pinning) (id int64, err error) {
	if err := checkPinning(file); err != nil {
		return 0, err
	}
	head, err := headText(file)
	if err != nil {
		return 0, err
	}
	pins, err := changesText(drives(file.Pins))
	if err != nil {
		return 0, err
	}
	err = s.change(ctx, "adding the pinning", func(tx *sql.Tx) error {
		m, err := machine(ctx, tx, machineID)
		if err != nil {
			return err
		}
		if err := file.CheckFits(m.File); err != nil {
			return err
		}
		if songID != 0 {
			if _, err := songRow(ctx, tx, songID); err != nil {
				return err
			}
		}
		now := s.nowUS()
		err = tx.QueryRowContext(ctx,
			`INSERT INTO pinnings (machine_id, song_id, head, pins, added_us, changed_us)
			VALUES (?, nullif(?, 0), ?, ?, ?, ?) RETURNING id`,
			machineID, songID, head, len(file.Pins), now, now).Scan(&id)
		if err != nil {
			return err
		}
		_, err = tx.StmtContext(ctx, s.edit.setHoles).ExecContext(ctx, id, 0, pins)
		return err
	})
	return id, err
}

// ReplacePinning keeps a new file for a pinning, as one edit, which undo takes
// back. The revision is the one that the change started from: if the pinning
// has been changed since, it is refused ([wheel.ErrConflict]), so that nobody's work
// is overwritten unseen. A file that says the same changes nothing.
func (s *Store) ReplacePinning(ctx context.Context, id int64, revision int, file *wheel.Pinning) error {
	if err := checkPinning(file); err != nil {
		return err
	}
	return s.change(ctx, "changing the pinning", func(tx *sql.Tx) error {
		p, err := s.openEdited(ctx, tx, id)
		if err != nil {
			return err
		}
		if err := wheel.CheckRevision(p.File.Title, p.revision, revision); err != nil {
			return err
		}
		if err := file.CheckFits(p.Machine); err != nil {
			return err
		}
		is, err := pinning(ctx, tx, id)
		if err != nil {
			return err
		}
		entry, err := p.Bring(is.File, file)
		return s.writeOwn(ctx, p, entry, err)
	})
}

// RenamePinning gives a pinning a new title. It is an edit, which undo takes
// back.
func (s *Store) RenamePinning(ctx context.Context, id int64, title string) error {
	return s.change(ctx, "renaming the pinning", func(tx *sql.Tx) error {
		p, err := s.openEdited(ctx, tx, id)
		if err != nil {
			return err
		}
		named := *p.File
		named.Title = title
		if err := checkPinning(&named); err != nil {
			return err
		}
		entry, err := p.Rename(title)
		return s.writeOwn(ctx, p, entry, err)
	})
}

// CountPinning gives a pinning another number of beats in a bar, by which its
// places are named. It is an edit, which undo takes back.
func (s *Store) CountPinning(ctx context.Context, id int64, beats int) error {
	return s.change(ctx, "changing the beats in a bar", func(tx *sql.Tx) error {
		p, err := s.openEdited(ctx, tx, id)
		if err != nil {
			return err
		}
		counted := *p.File
		counted.BeatsPerBar = wheel.Count(beats)
		if err := checkPinning(&counted); err != nil {
			return err
		}
		entry, err := p.CountBars(beats)
		return s.writeOwn(ctx, p, entry, err)
	})
}

// RemovePinning removes a pinning.
func (s *Store) RemovePinning(ctx context.Context, id int64) error {
	return s.change(ctx, "removing the pinning", func(tx *sql.Tx) error {
		return removed(ctx, tx, id, "pinning", `DELETE FROM pinnings WHERE id = ?`)
	})
}

// checkPinning refuses a pinning that could not be written and read back.
func checkPinning(file *wheel.Pinning) error {
	_, err := pinningText(file)
	return err
}

// headText is the text to keep of a pinning's head: its file without pins and
// without the machine's name, which is kept with the machine.
func headText(file *wheel.Pinning) (string, error) {
	head := *file
	head.Machine, head.Pins = "", nil
	return pinningText(&head)
}
