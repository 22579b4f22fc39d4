package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"pinwright/wheel"
)

// Bounds of a programme.
const (
	MaxProgrammeSongs = 100
	MaxStory          = 1000 // characters
	MaxTurns          = 1000 // of the wheel, in one play
	MaxPlays          = 1000 // of a song, in a day
	MaxPauseMin       = 24 * 60
	maxPinsPerMin     = 1000
	maxVersions       = 10_000
	maxVersionWords   = wheel.MaxName + 100 // what a change does: a title, and words around it
)

// ProgrammeBody is what a programme says: its songs in their order, and what
// goes with them.
type ProgrammeBody struct {
	Name       string          `json:"name"`
	Call       string          `json:"call"`         // who to call, for the crank card
	PinsPerMin float64         `json:"pins_per_min"` // rate of changeovers; 0: the crew's own
	Songs      []ProgrammeSong `json:"songs"`
}

// ProgrammeSong is one pinning in a programme.
type ProgrammeSong struct {
	PinningID int64   `json:"pinning"`
	Title     string  `json:"title"` // of the pinning when this was kept
	TempoBPM  float64 `json:"tempo_bpm"`
	Turns     int     `json:"turns"`     // of the wheel, in one play
	Plays     int     `json:"plays"`     // in a day
	RestMin   float64 `json:"rest_min"`  // between its plays
	PauseMin  float64 `json:"pause_min"` // before its first play, for the changeover
	Story     string  `json:"story"`     // for visitors; may have several lines
}

func (b *ProgrammeBody) equal(c *ProgrammeBody) bool {
	return b.Name == c.Name && b.Call == c.Call && b.PinsPerMin == c.PinsPerMin && slices.Equal(b.Songs, c.Songs)
}

// check lists everything wrong with a programme.
func (b *ProgrammeBody) check() error {
	var problems wheel.Problems
	line := func(place, what, text string) {
		var refusal *wheel.Error
		if err := checkLine(what, text, wheel.MaxName); errors.As(err, &refusal) {
			problems.Add(place, "%s", refusal.Message)
		}
	}
	within := func(place, what string, v, least, most float64) {
		if !(v >= least && v <= most) {
			problems.Add(place, "%s is %s; it should be %s to %s", what, wheel.Number(v), wheel.Number(least), wheel.Number(most))
		}
	}
	if strings.TrimSpace(b.Name) == "" {
		problems.Add("", "the programme has no name; give it one, such as “Sunday”")
	}
	line("", "the programme's name", b.Name)
	line("", "who to call", b.Call)
	if b.PinsPerMin != 0 {
		within("", "the rate of changeovers, in pins a minute,", b.PinsPerMin, 0.01, maxPinsPerMin)
	}
	if len(b.Songs) > MaxProgrammeSongs {
		problems.Add("", "the programme has %d songs; %d at most", len(b.Songs), MaxProgrammeSongs)
	}
	for i, s := range b.Songs[:min(len(b.Songs), MaxProgrammeSongs)] {
		place := "song " + wheel.Number(float64(i+1))
		if s.Title != "" {
			place += ", " + s.Title
		}
		place += ":"
		within(place, "the tempo in BPM", s.TempoBPM, 1, wheel.MaxTempoBPM)
		within(place, "the number of turns in a play", float64(s.Turns), 1, MaxTurns)
		within(place, "the number of plays in a day", float64(s.Plays), 1, MaxPlays)
		within(place, "the rest between plays, in minutes,", s.RestMin, 0, MaxPauseMin)
		within(place, "the pause before it, in minutes,", s.PauseMin, 0, MaxPauseMin)
		if n := utf8.RuneCountInString(s.Story); n > MaxStory {
			problems.Add(place, "the story has %d characters; %d at most", n, MaxStory)
		}
		if !utf8.ValidString(s.Story) || strings.ContainsFunc(s.Story, func(r rune) bool { return unicode.IsControl(r) && r != '\n' }) {
			problems.Add(place, "the story has characters that are not text")
		}
	}
	if err := problems.Err(); err != nil {
		return wheel.RefuseFor(wheel.ErrInvalid, err, "%s", err)
	}
	return nil
}

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
	Body   ProgrammeBody
}

// ProgrammeVersion is one change of a programme.
type ProgrammeVersion struct {
	Version int
	At      time.Time
	By      string
	Words   string
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
	p, err := programme(ctx, s.reader, id, version)
	return p, failed("reading the programme", err)
}

func programme(ctx context.Context, q querier, id int64, version int) (*Programme, error) {
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
		return nil, wheel.RefuseFor(wheel.ErrInvalid, err, "what is kept of programme %s cannot be read by this version of the program: %s", p.Name, err)
	}
	return &p, nil
}

// ProgrammeVersions lists the changes of a programme, the latest first.
func (s *Store) ProgrammeVersions(ctx context.Context, id int64) ([]ProgrammeVersion, error) {
	return list(ctx, s.reader, "reading the programme's changes", func(row scanner) (ProgrammeVersion, error) {
		var v ProgrammeVersion
		var at int64
		err := row.Scan(&v.Version, &at, &v.By, &v.Words, &v.Of, &v.Name, &v.Songs)
		v.At = timeOf(at)
		return v, err
	}, `SELECT version, at_us, by_whom, words, of_version, name, songs FROM programme_versions WHERE programme_id = ? ORDER BY version DESC`, id)
}

// NewProgrammeVersion is a change of a programme as it is sent.
type NewProgrammeVersion struct {
	Base  int    // the version that the change started from
	By    string // a name for who made it; may be empty
	Words string // what it does, in one line
	Body  ProgrammeBody
}

// AddProgramme keeps a programme for a machine and returns its id.
func (s *Store) AddProgramme(ctx context.Context, machineID int64, n NewProgrammeVersion) (id int64, err error) {
	if err := n.Body.check(); err != nil {
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
		if err := titled(ctx, tx, machineID, &n.Body, nil); err != nil {
			return err
		}
		return s.addVersion(ctx, tx, id, 1, 0, n)
	})
	return id, err
}

// ChangeProgramme keeps a new version of a programme and returns its number. If
// the programme has been changed since the base, it is refused ([wheel.ErrConflict]).
// What says the same as the latest version is that version. A song has to be a
// pinning of the programme's machine, or one that the programme had before.
func (s *Store) ChangeProgramme(ctx context.Context, id int64, n NewProgrammeVersion) (version int, err error) {
	if err := n.Body.check(); err != nil {
		return 0, err
	}
	err = s.change(ctx, "changing the programme", func(tx *sql.Tx) error {
		is, err := programme(ctx, tx, id, 0)
		if err != nil {
			return err
		}
		if is.Version != n.Base {
			return changedSince(is.Name)
		}
		if err := titled(ctx, tx, is.MachineID, &n.Body, is.Body.Songs); err != nil {
			return err
		}
		if version = is.Version; n.Body.equal(&is.Body) {
			return nil
		}
		version++
		return s.addVersion(ctx, tx, id, version, 0, n)
	})
	return version, err
}

// ReturnProgramme makes an earlier version of a programme the latest again, as
// a new one, and returns its number. If the programme has been changed since the
// base, it is refused ([wheel.ErrConflict]).
func (s *Store) ReturnProgramme(ctx context.Context, id int64, base, to int, by string) (version int, err error) {
	err = s.change(ctx, "changing the programme", func(tx *sql.Tx) error {
		is, err := programme(ctx, tx, id, 0)
		if err != nil {
			return err
		}
		if is.Version != base {
			return changedSince(is.Name)
		}
		was, err := programme(ctx, tx, id, to)
		if err != nil {
			return err
		}
		if version = is.Version; was.Version == is.Version || was.Body.equal(&is.Body) {
			return nil
		}
		version++
		return s.addVersion(ctx, tx, id, version, was.Version, NewProgrammeVersion{By: by, Words: "return to version " + wheel.Number(float64(was.Version)), Body: was.Body})
	})
	return version, err
}

func (s *Store) addVersion(ctx context.Context, tx *sql.Tx, id int64, version, of int, n NewProgrammeVersion) error {
	if err := checkLine("the name of who made the change", n.By, wheel.MaxName); err != nil {
		return err
	}
	if err := checkLine("what the change does", n.Words, maxVersionWords); err != nil {
		return err
	}
	if version > maxVersions {
		return wheel.Refuse(wheel.ErrConflict, "the programme has been changed %d times, the most that is kept; make a new one", maxVersions)
	}
	body, err := json.Marshal(n.Body)
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO programme_versions (programme_id, version, at_us, by_whom, words, of_version, body) VALUES (?, ?, ?, ?, ?, ?, ?)`,
		id, version, s.nowUS(), n.By, n.Words, of, string(body))
	return err
}

// titled gives each song the title that its pinning has now. One that is gone
// keeps the title that it had in the programme before.
func titled(ctx context.Context, tx *sql.Tx, machineID int64, b *ProgrammeBody, before []ProgrammeSong) error {
	if b.Songs == nil {
		b.Songs = []ProgrammeSong{}
	}
	for i := range b.Songs {
		song := &b.Songs[i]
		err := tx.QueryRowContext(ctx, `SELECT title FROM pinnings WHERE id = ? AND machine_id = ?`, song.PinningID, machineID).Scan(&song.Title)
		if err == nil {
			continue
		}
		if !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		was := slices.IndexFunc(before, func(s ProgrammeSong) bool { return s.PinningID == song.PinningID })
		if was < 0 {
			return wheel.Refuse(wheel.ErrNotFound, "song %d: there is no pinning %d of this machine; it may have been removed", i+1, song.PinningID)
		}
		song.Title = before[was].Title
	}
	return nil
}

// RemoveProgramme removes a programme with all its versions.
func (s *Store) RemoveProgramme(ctx context.Context, id int64) error {
	return s.change(ctx, "removing the programme", func(tx *sql.Tx) error {
		return removed(ctx, tx, id, "programme", `DELETE FROM programmes WHERE id = ?`)
	})
}
