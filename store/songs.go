package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"time"

	"pinwright/wheel"
	"pinwright/wheel/song"
)

// Song is a song as a listing shows it. Its file's bytes are read with
// [Store.SongBytes]; Track is its place in what song.Parse makes of them.
type Song struct {
	ID       int64
	Title    string
	FileName string
	Track    int // which song of a file that holds several, from 0
	Size     int // of the file, in bytes
	SHA256   [sha256.Size]byte
	Added    time.Time
}

// AddedSong is a song of a file that was added. Already means that it was
// there before, and under which title and file name.
type AddedSong struct {
	Song
	Already bool
}

const songColumns = `songs.id, title, name, track, size, sha256, added_us
	FROM songs JOIN song_files ON song_files.id = file_id`

func scanSong(row scanner) (Song, error) {
	var s Song
	var sum []byte
	var added int64
	err := row.Scan(&s.ID, &s.Title, &s.FileName, &s.Track, &s.Size, &sum, &added)
	copy(s.SHA256[:], sum)
	s.Added = timeOf(added)
	return s, err
}

// Songs lists all songs by title.
func (s *Store) Songs(ctx context.Context) ([]Song, error) {
	return list(ctx, s.reader, "listing the songs", scanSong,
		`SELECT `+songColumns+` ORDER BY title COLLATE NOCASE, songs.id`)
}

// Song is one song without its bytes, or [wheel.ErrNotFound].
func (s *Store) Song(ctx context.Context, id int64) (Song, error) {
	one, err := songRow(ctx, s.reader, id)
	return one, failed("reading the song", err)
}

func songRow(ctx context.Context, q querier, id int64) (Song, error) {
	one, err := scanSong(q.QueryRowContext(ctx, `SELECT `+songColumns+` WHERE songs.id = ?`, id))
	if errors.Is(err, sql.ErrNoRows) {
		return one, wheel.Refuse(wheel.ErrNotFound, "there is no song %d; it may have been removed", id)
	}
	return one, err
}

// SongBytes is the Standard MIDI File a song came in, byte for byte, or
// [wheel.ErrNotFound]; [wheel.ErrDamaged] if it is no longer what its SHA-256 says.
func (s *Store) SongBytes(ctx context.Context, id int64) ([]byte, error) {
	var data, sum []byte
	err := s.reader.QueryRowContext(ctx,
		`SELECT bytes, sha256 FROM song_files WHERE id = (SELECT file_id FROM songs WHERE id = ?)`, id).Scan(&data, &sum)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, wheel.Refuse(wheel.ErrNotFound, "there is no song %d; it may have been removed", id)
	}
	if err != nil {
		return nil, failed("reading the song", err)
	}
	if is := sha256.Sum256(data); !bytes.Equal(is[:], sum) {
		return nil, wheel.Refuse(wheel.ErrDamaged, "the file of song %d is not what it was when it was added; the database is damaged: go back to a copy of it", id)
	}
	return data, nil
}

// AddSongs keeps a Standard MIDI File and every song in it: one, or as many
// as a format 2 file has tracks. Of a file that is there already, whatever its
// name, nothing is added twice.
func (s *Store) AddSongs(ctx context.Context, fileName string, data []byte) ([]AddedSong, error) {
	if len(data) > song.MaxBytes {
		return nil, wheel.Refuse(wheel.ErrTooLarge, "the song file is larger than %d MiB, the most that can be read", song.MaxBytes>>20)
	}
	fileName = song.FileName(fileName)
	songs, err := song.Parse(data, fileName)
	if err != nil {
		return nil, wheel.RefuseFor(wheel.ErrInvalid, err, "%s", err)
	}
	sum := sha256.Sum256(data)
	var added []AddedSong
	err = s.change(ctx, "adding the song", func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx,
			`INSERT INTO song_files (sha256, name, bytes) VALUES (?, ?, ?) ON CONFLICT (sha256) DO NOTHING`,
			sum[:], fileName, data)
		if err != nil {
			return err
		}
		now := s.nowUS()
		for track, one := range songs {
			result, err := tx.ExecContext(ctx,
				`INSERT INTO songs (file_id, track, title, added_us)
				VALUES ((SELECT id FROM song_files WHERE sha256 = ?), ?, ?, ?) ON CONFLICT (file_id, track) DO NOTHING`,
				sum[:], track, one.Title, now)
			if err != nil {
				return err
			}
			n, err := result.RowsAffected()
			if err != nil {
				return err
			}
			row, err := scanSong(tx.QueryRowContext(ctx,
				`SELECT `+songColumns+` WHERE sha256 = ? AND track = ?`, sum[:], track))
			if err != nil {
				return err
			}
			added = append(added, AddedSong{Song: row, Already: n == 0})
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return added, nil
}

// RenameSong gives a song another title. Pinnings made from it keep theirs.
func (s *Store) RenameSong(ctx context.Context, id int64, title string) error {
	title, err := song.Title(title)
	if err != nil {
		return err
	}
	return s.change(ctx, "renaming the song", func(tx *sql.Tx) error {
		if _, err := songRow(ctx, tx, id); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `UPDATE songs SET title = ? WHERE id = ?`, title, id)
		return err
	})
}

// RemovedSong is a song that was removed, with all that brings it back.
type RemovedSong struct {
	Song
	bytes    []byte
	pinnings []int64 // made from it
}

// RemoveSong removes a song, and its file with the last song of it. Pinnings
// made from it stay. [Store.RestoreSong] brings it back.
func (s *Store) RemoveSong(ctx context.Context, id int64) (*RemovedSong, error) {
	var gone RemovedSong
	err := s.change(ctx, "removing the song", func(tx *sql.Tx) error {
		var err error
		if gone.Song, err = songRow(ctx, tx, id); err != nil {
			if errors.Is(err, wheel.ErrNotFound) {
				return removed(ctx, tx, id, "song", `DELETE FROM songs WHERE id = ?`)
			}
			return err
		}
		err = tx.QueryRowContext(ctx, `SELECT bytes FROM song_files WHERE sha256 = ?`, gone.SHA256[:]).Scan(&gone.bytes)
		if err != nil {
			return err
		}
		one := func(row scanner) (pinning int64, err error) { return pinning, row.Scan(&pinning) }
		if gone.pinnings, err = list(ctx, tx, "listing the pinnings of the song", one, `SELECT id FROM pinnings WHERE song_id = ?`, id); err != nil {
			return err
		}
		if err := removed(ctx, tx, id, "song", `DELETE FROM songs WHERE id = ?`); err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx,
			`DELETE FROM song_files WHERE NOT EXISTS (SELECT 1 FROM songs WHERE file_id = song_files.id)`)
		return err
	})
	if err != nil {
		return nil, err
	}
	return &gone, nil
}

// RestoreSong brings a removed song back under its id, and to the pinnings that
// were made from it and are still there. It refuses a song that has been added
// again meanwhile.
func (s *Store) RestoreSong(ctx context.Context, gone *RemovedSong) error {
	return s.change(ctx, "bringing the song back", func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx,
			`INSERT INTO song_files (sha256, name, bytes) VALUES (?, ?, ?) ON CONFLICT (sha256) DO NOTHING`,
			gone.SHA256[:], gone.FileName, gone.bytes)
		if err != nil {
			return err
		}
		result, err := tx.ExecContext(ctx,
			`INSERT INTO songs (id, file_id, track, title, added_us)
			VALUES (?, (SELECT id FROM song_files WHERE sha256 = ?), ?, ?, ?) ON CONFLICT DO NOTHING`,
			gone.ID, gone.SHA256[:], gone.Track, gone.Title, gone.Added.UnixMicro())
		if err != nil {
			return err
		}
		if n, err := result.RowsAffected(); err != nil {
			return err
		} else if n == 0 {
			return wheel.Refuse(wheel.ErrConflict, "%s is among the songs already; it was added again after it was removed.", gone.Title)
		}
		for _, id := range gone.pinnings {
			if _, err := tx.ExecContext(ctx, `UPDATE pinnings SET song_id = ? WHERE id = ? AND song_id IS NULL`, gone.ID, id); err != nil {
				return err
			}
		}
		return nil
	})
}

// removed runs a statement that removes one row by its id, and by what more it
// asks for.
func removed(ctx context.Context, tx *sql.Tx, id int64, what, statement string, more ...any) error {
	result, err := tx.ExecContext(ctx, statement, append([]any{id}, more...)...)
	if err != nil {
		return err
	}
	if n, err := result.RowsAffected(); err != nil || n > 0 {
		return err
	}
	return wheel.Refuse(wheel.ErrNotFound, "there is no %s %d; it may have been removed already", what, id)
}
