package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"time"

	"pinwright/wheel"
	"pinwright/wheel/programme"
)

// ProgrammeRow is a programme as a listing shows it.
type ProgrammeRow struct {
	ID          int64
	MachineID   int64 // 0: the machine was removed
	MachineName string
	Name        string
	Songs       int
	Version     int
	Added       time.Time
	Changed     time.Time
}

// Programme is a programme as one of its versions has it.
type Programme struct {
	ProgrammeRow
	Latest int // the version that it has now
	Body   programme.Programme
}

// ProgrammeVersion is one change of a programme.
type ProgrammeVersion struct {
	Version int
	At      time.Time
	By      string
	Text    string
	Of      int // the version that a return went back to, 0 for none
	Name    string
	Songs   int
}

const programmeColumns = `p.id, coalesce(p.machine_id, 0), coalesce(m.name, p.machine_name), v.name, v.songs, v.version, p.added_us, v.at_us,
	(SELECT max(version) FROM programme_versions WHERE programme_id = p.id)`

const programmeTables = ` FROM programmes AS p
	JOIN programme_versions AS v ON v.programme_id = p.id
	LEFT JOIN machines AS m ON m.id = p.machine_id `

func scanProgramme(row scanner, more ...any) (Programme, error) {
	var p Programme
	var added, changed int64
	err := row.Scan(append([]any{&p.ID, &p.MachineID, &p.MachineName, &p.Name, &p.Songs, &p.Version, &added, &changed, &p.Latest}, more...)...)
	p.Added, p.Changed = timeOf(added), timeOf(changed)
	return p, err
}

// Programmes lists the programmes of a machine, and those whose machine was
// removed, by name.
func (s *Store) Programmes(ctx context.Context, machineID int64) ([]ProgrammeRow, error) {
	return list(ctx, s.reader, "listing the programmes", func(row scanner) (ProgrammeRow, error) {
		p, err := scanProgramme(row)
		return p.ProgrammeRow, err
	}, `SELECT `+programmeColumns+programmeTables+`
		WHERE v.version = (SELECT max(version) FROM programme_versions WHERE programme_id = p.id)
		AND (p.machine_id = ? OR p.machine_id IS NULL) ORDER BY v.name COLLATE NOCASE, p.id`, machineID)
}

// Programme is a programme as it is now, or [wheel.ErrNotFound].
func (s *Store) Programme(ctx context.Context, id int64) (*Programme, error) {
	return s.ProgrammeAt(ctx, id, 0)
}

// ProgrammeAt is a programme as a version had it, 0 for the latest, or
// [wheel.ErrNotFound].
func (s *Store) ProgrammeAt(ctx context.Context, id int64, version int) (*Programme, error) {
	p, err := programmeAt(ctx, s.reader, id, version)
	return p, failed("reading the programme", err)
}

func programmeAt(ctx context.Context, q querier, id int64, version int) (*Programme, error) {
	var body []byte
	p, err := scanProgramme(q.QueryRowContext(ctx, `SELECT `+programmeColumns+`, v.body`+programmeTables+`
		WHERE p.id = ?1 AND v.version = CASE ?2 WHEN 0 THEN (SELECT max(version) FROM programme_versions WHERE programme_id = ?1) ELSE ?2 END`,
		id, version), &body)
	switch {
	case errors.Is(err, sql.ErrNoRows) && version == 0:
		return nil, wheel.Refuse(wheel.ErrNotFound, "there is no programme %d; it may have been removed", id)
	case errors.Is(err, sql.ErrNoRows):
		return nil, wheel.Refuse(wheel.ErrNotFound, "there is no version %d of programme %d", version, id)
	case err != nil:
		return nil, err
	}
	if err := json.Unmarshal(body, &p.Body); err != nil {
		return nil, wheel.RefuseFor(wheel.ErrInvalid, err, "the programme %s cannot be read by this version of the program: %s", p.Name, err)
	}
	return &p, nil
}

// ProgrammeVersions lists the changes of a programme, the latest first.
func (s *Store) ProgrammeVersions(ctx context.Context, id int64) ([]ProgrammeVersion, error) {
	return list(ctx, s.reader, "reading the programme's changes", func(row scanner) (ProgrammeVersion, error) {
		var v ProgrammeVersion
		var at int64
		err := row.Scan(&v.Version, &at, &v.By, &v.Text, &v.Of, &v.Name, &v.Songs)
		v.At = timeOf(at)
		return v, err
	}, `SELECT version, at_us, by_whom, words, of_version, name, songs FROM programme_versions WHERE programme_id = ? ORDER BY version DESC`, id)
}

// AddProgramme keeps a programme for a machine and returns its id.
func (s *Store) AddProgramme(ctx context.Context, machineID int64, c programme.Change) (id int64, err error) {
	if err := c.Programme.Check(); err != nil {
		return 0, err
	}
	err = s.change(ctx, "adding the programme", func(tx *sql.Tx) error {
		m, err := scanMachine(tx.QueryRowContext(ctx, `SELECT `+machineColumns+` FROM machines WHERE id = ?`, machineID))
		if errors.Is(err, sql.ErrNoRows) {
			return wheel.Refuse(wheel.ErrNotFound, "there is no machine %d; it may have been removed", machineID)
		}
		if err != nil {
			return err
		}
		err = tx.QueryRowContext(ctx, `INSERT INTO programmes (machine_id, machine_name, added_us) VALUES (?, ?, ?) RETURNING id`,
			machineID, m.Name, s.nowUS()).Scan(&id)
		if err != nil {
			return err
		}
		if err := c.Programme.Retitle(nil, titles(ctx, tx, machineID)); err != nil {
			return err
		}
		return s.addVersion(ctx, tx, id, 1, 0, c)
	})
	return id, err
}

// ChangeProgramme keeps a change of a programme and returns the version that it
// makes, see [programme.Version.CheckBase] and [programme.Version.Follow]. A song
// has to be a pinning of the programme's machine, or one that the programme had
// before.
func (s *Store) ChangeProgramme(ctx context.Context, id int64, c programme.Change) (version int, err error) {
	if err := c.Programme.Check(); err != nil {
		return 0, err
	}
	err = s.change(ctx, "changing the programme", func(tx *sql.Tx) error {
		now, err := programmeAt(ctx, tx, id, 0)
		if err != nil {
			return err
		}
		if err := now.latest().CheckBase(c.Base); err != nil {
			return err
		}
		if err := c.Programme.Retitle(now.Body.Songs, titles(ctx, tx, now.MachineID)); err != nil {
			return err
		}
		version, err = s.follow(ctx, tx, now, 0, c)
		return err
	})
	return version, err
}

// ReturnProgramme makes an earlier version of a programme the latest again, as
// a new one, and returns its number.
func (s *Store) ReturnProgramme(ctx context.Context, id int64, base, to int, by string) (version int, err error) {
	err = s.change(ctx, "changing the programme", func(tx *sql.Tx) error {
		now, err := programmeAt(ctx, tx, id, 0)
		if err != nil {
			return err
		}
		if err := now.latest().CheckBase(base); err != nil {
			return err
		}
		earlier, err := programmeAt(ctx, tx, id, to)
		if err != nil {
			return err
		}
		version, err = s.follow(ctx, tx, now, earlier.Version, programme.Change{By: by, Text: programme.ReturnText(earlier.Version), Programme: earlier.Body})
		return err
	})
	return version, err
}

// latest is the version that a programme has now.
func (p *Programme) latest() programme.Version {
	return programme.Version{Number: p.Version, Programme: p.Body}
}

// follow keeps the version that a change makes, if it is a new one. of is the
// version that a return goes back to, 0 for another change.
func (s *Store) follow(ctx context.Context, tx *sql.Tx, now *Programme, of int, c programme.Change) (version int, err error) {
	next, err := now.latest().Follow(c.Programme)
	if err != nil || next.Number == now.Version {
		return next.Number, err
	}
	return next.Number, s.addVersion(ctx, tx, now.ID, next.Number, of, c)
}

func (s *Store) addVersion(ctx context.Context, tx *sql.Tx, id int64, version, of int, c programme.Change) error {
	if err := c.CheckNote(); err != nil {
		return err
	}
	if c.Programme.Songs == nil {
		c.Programme.Songs = []programme.Song{} // the schema counts them, and null cannot be counted
	}
	body, err := json.Marshal(c.Programme)
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO programme_versions (programme_id, version, at_us, by_whom, words, of_version, body) VALUES (?, ?, ?, ?, ?, ?, ?)`,
		id, version, s.nowUS(), c.By, c.Text, of, string(body))
	return err
}

// titles finds the title of a machine's pinning.
func titles(ctx context.Context, tx *sql.Tx, machineID int64) func(int64) (string, bool, error) {
	return func(pinningID int64) (title string, ok bool, err error) {
		err = tx.QueryRowContext(ctx, `SELECT title FROM pinnings WHERE id = ? AND machine_id = ?`, pinningID, machineID).Scan(&title)
		if errors.Is(err, sql.ErrNoRows) {
			return "", false, nil
		}
		return title, err == nil, err
	}
}

// RemoveProgramme removes a programme with all its versions.
func (s *Store) RemoveProgramme(ctx context.Context, id int64) error {
	return s.change(ctx, "removing the programme", func(tx *sql.Tx) error {
		return removed(ctx, tx, id, "programme", `DELETE FROM programmes WHERE id = ?`)
	})
}
