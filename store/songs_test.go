package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"

	"pinwright/wheel"
	"pinwright/wheel/song"
)

func TestASongIsKeptByteForByte(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	data := songFile(t, "Mill Race", 60)
	added, err := s.AddSongs(ctx, `C:\songs\Mill Race.mid`, data)
	if err != nil {
		t.Fatal(err)
	}
	want := Song{
		ID: 1, Title: "Mill Race", FileName: "Mill Race.mid", Size: len(data), SHA256: sha256.Sum256(data),
		Added: time.Date(2026, 3, 1, 9, 0, 1, 0, time.UTC),
	}
	if !reflect.DeepEqual(added, []AddedSong{{Song: want}}) {
		t.Errorf("added %+v, want %+v", added, want)
	}
	if one, err := s.Song(ctx, 1); err != nil || one != want {
		t.Errorf("kept %+v (%v), want %+v", one, err, want)
	}
	if got, err := s.SongBytes(ctx, 1); err != nil || !bytes.Equal(got, data) {
		t.Errorf("the bytes differ (%v)", err)
	}
	_, err = s.Song(ctx, 2)
	refused(t, err, wheel.ErrNotFound, "there is no song 2; it may have been removed")
	_, err = s.SongBytes(ctx, 2)
	refused(t, err, wheel.ErrNotFound, "there is no song 2; it may have been removed")
}

func TestTheSameFileIsNotAddedTwice(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	first := addSong(t, s, "mill.mid", songFile(t, "Mill Race", 60))
	again, err := s.AddSongs(ctx, "copy of mill.mid", songFile(t, "Mill Race", 60))
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(again, []AddedSong{{Song: first, Already: true}}) {
		t.Errorf("added again %+v, want %+v", again, first)
	}
	addSong(t, s, "mill.mid", songFile(t, "Mill Race", 61))
	if rows, err := s.Songs(ctx); err != nil || len(rows) != 2 {
		t.Errorf("%d songs (%v), want 2", len(rows), err)
	}
}

// format2 is a file of format 2 laid out by hand from the Standard MIDI Files
// 1.0 specification: a header chunk and for every title a track with its name
// (FF 03), one note, and the end of the track (FF 2F 00).
func format2(titles ...string) []byte {
	var b bytes.Buffer
	b.WriteString("MThd\x00\x00\x00\x06\x00\x02")
	_ = binary.Write(&b, binary.BigEndian, [2]uint16{uint16(len(titles)), 96})
	for _, title := range titles {
		events := "\x00\xff\x03" + string(rune(len(title))) + title +
			"\x00\x90\x3c\x40" + "\x60\x80\x3c\x40" + "\x00\xff\x2f\x00"
		b.WriteString("MTrk")
		_ = binary.Write(&b, binary.BigEndian, uint32(len(events)))
		b.WriteString(events)
	}
	return b.Bytes()
}

func TestEverySongOfAFormat2FileIsKeptAndTheFileOnce(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	data := format2("Weir", "Sluice", "Tail Race")
	added, err := s.AddSongs(ctx, "mill.mid", data)
	if err != nil {
		t.Fatal(err)
	}
	for i, title := range []string{"Weir", "Sluice", "Tail Race"} {
		if added[i].Title != title || added[i].Track != i || added[i].Already {
			t.Errorf("song %d is %+v, want %s", i, added[i], title)
		}
	}
	count := func() (files int) {
		if err := s.reader.QueryRow(`SELECT count(*) FROM song_files`).Scan(&files); err != nil {
			t.Fatal(err)
		}
		return files
	}
	if n := count(); n != 1 {
		t.Errorf("the file is kept %d times", n)
	}
	if _, err := s.RemoveSong(ctx, added[1].ID); err != nil {
		t.Fatal(err)
	}
	if got, err := s.SongBytes(ctx, added[2].ID); err != nil || !bytes.Equal(got, data) {
		t.Errorf("with one song the file of all went (%v)", err)
	}
	again, err := s.AddSongs(ctx, "mill.mid", data)
	if err != nil {
		t.Fatal(err)
	}
	if !again[0].Already || again[1].Already || !again[2].Already {
		t.Errorf("only the song that was removed is new; got %+v", again)
	}
	for _, one := range again {
		if _, err := s.RemoveSong(ctx, one.ID); err != nil {
			t.Fatal(err)
		}
	}
	if n := count(); n != 0 {
		t.Errorf("%d files are kept without a song", n)
	}
}

func TestRemovingASongKeepsItsPinnings(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	of := addSong(t, s, "mill.mid", songFile(t, "Mill Race", 60))
	id := addPinning(t, s, addMachine(t, s, smallMachine("Hailstone", 1)), of.ID, smallPinning("Mill Race", 4))
	if _, err := s.RemoveSong(ctx, of.ID); err != nil {
		t.Fatal(err)
	}
	p, err := s.Pinning(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	if p.SongID != 0 || p.Pins != 4 {
		t.Errorf("it is now %+v", p.PinningRow)
	}
	_, err = s.RemoveSong(ctx, of.ID)
	refused(t, err, wheel.ErrNotFound, "there is no song 1; it may have been removed already")
}

func TestARemovedSongIsBroughtBackAsItWas(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	data := songFile(t, "Mill Race", 60)
	of := addSong(t, s, "mill.mid", data)
	id := addPinning(t, s, addMachine(t, s, smallMachine("Hailstone", 1)), of.ID, smallPinning("Mill Race", 4))
	gone, err := s.RemoveSong(ctx, of.ID)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.RestoreSong(ctx, gone); err != nil {
		t.Fatal(err)
	}
	if one, err := s.Song(ctx, of.ID); err != nil || one != of {
		t.Errorf("it is %+v (%v), was %+v", one, err, of)
	}
	if got, err := s.SongBytes(ctx, of.ID); err != nil || !bytes.Equal(got, data) {
		t.Errorf("its file differs (%v)", err)
	}
	if p, err := s.Pinning(ctx, id); err != nil || p.SongID != of.ID {
		t.Errorf("its pinning is of song %d (%v)", p.SongID, err)
	}
	refused(t, s.RestoreSong(ctx, gone), wheel.ErrConflict, "Mill Race is among the songs already; it was added again after it was removed.")

	// Added again under another id, it is there once.
	if gone, err = s.RemoveSong(ctx, of.ID); err != nil {
		t.Fatal(err)
	}
	addSong(t, s, "mill.mid", data)
	refused(t, s.RestoreSong(ctx, gone), wheel.ErrConflict, "Mill Race is among the songs already; it was added again after it was removed.")
	if rows, err := s.Songs(ctx); err != nil || len(rows) != 1 {
		t.Errorf("%d songs (%v), want 1", len(rows), err)
	}
}

func TestASongIsRenamed(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	of := addSong(t, s, "mill.mid", songFile(t, "Mill Race", 60))
	if err := s.RenameSong(ctx, of.ID, "  Tail\u0007 Race "); err != nil {
		t.Fatal(err)
	}
	if one, err := s.Song(ctx, of.ID); err != nil || one.Title != "Tail Race" {
		t.Errorf("its title is %q (%v)", one.Title, err)
	}
	refused(t, s.RenameSong(ctx, of.ID, " \n"), wheel.ErrInvalid, "The title is empty; a song needs one.")
	refused(t, s.RenameSong(ctx, of.ID, strings.Repeat("é", song.MaxTitle+1)), wheel.ErrInvalid, "The title has 201 characters; 200 are the most.")
	refused(t, s.RenameSong(ctx, 7, "Weir"), wheel.ErrNotFound, "there is no song 7; it may have been removed")
	if one, err := s.Song(ctx, of.ID); err != nil || one.Title != "Tail Race" {
		t.Errorf("after what was refused its title is %q (%v)", one.Title, err)
	}
}

func TestASongFileThatCannotBeReadIsRefused(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	_, err := s.AddSongs(ctx, "notes.txt", []byte("bar c5 sticks"))
	if !errors.Is(err, wheel.ErrInvalid) || !strings.HasPrefix(err.Error(), "notes.txt: ") {
		t.Errorf("error is %v", err)
	}
	_, err = s.AddSongs(ctx, "big.mid", make([]byte, song.MaxBytes+1))
	refused(t, err, wheel.ErrTooLarge, "the song file is larger than 8 MiB, the most that can be read")
	if rows, err := s.Songs(ctx); err != nil || len(rows) != 0 {
		t.Errorf("songs are kept: %v (%v)", rows, err)
	}
}

func TestListingSongsDoesNotReadTheirBytes(t *testing.T) {
	s := openNew(t)
	var plan string
	rows, err := s.reader.Query(`EXPLAIN SELECT ` + songColumns + ` ORDER BY title COLLATE NOCASE, songs.id`)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	// SQLite's program reads columns by number; bytes is the last of
	// song_files, number 4 (id, sha256, name, size, bytes).
	for rows.Next() {
		var addr, p1, p2, p3, p5 int
		var opcode string
		var p4, comment any
		if err := rows.Scan(&addr, &opcode, &p1, &p2, &p3, &p4, &p5, &comment); err != nil {
			t.Fatal(err)
		}
		if opcode == "Column" {
			plan += "."
			if p2 == 4 && p1 == 1 {
				t.Errorf("instruction %d reads the bytes", addr)
			}
		}
	}
	if plan == "" {
		t.Error("no instruction reads a column; the program was not understood")
	}
}

func TestASongThatWasDamagedOnDiskIsNotHandedOut(t *testing.T) {
	s := openNew(t)
	of := addSong(t, s, "mill.mid", songFile(t, "Mill Race", 60))
	if _, err := s.writer.Exec(`UPDATE song_files SET bytes = CAST(substr(bytes, 1, size - 1) || x'01' AS BLOB)`); err != nil {
		t.Fatal(err)
	}
	_, err := s.SongBytes(context.Background(), of.ID)
	refused(t, err, wheel.ErrDamaged, "the file of song 1 is not what it was when it was added; the database is damaged: go back to a copy of it")
}
