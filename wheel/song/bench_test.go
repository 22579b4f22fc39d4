package song

import (
	"bytes"
	"testing"

	"gitlab.com/gomidi/midi/v2/smf"
)

// longSong is a song of so many notes on eight tracks, as a file.
func longSong(tb testing.TB, notes int) []byte {
	tb.Helper()
	s := &Song{Title: "Long", TicksPerQuarter: 480, Tracks: make([]Track, 8)}
	for i := range notes {
		s.Notes = append(s.Notes, Note{
			Tick: int64(i) * 30, Ticks: 25 + int64(i%7)*40,
			Track: i % 8, Channel: uint8(i%8 + 1), Key: uint8(36 + i*7%48), Velocity: uint8(1 + i%127),
		})
	}
	var file bytes.Buffer
	if err := Write(&file, s); err != nil {
		tb.Fatal(err)
	}
	return file.Bytes()
}

func BenchmarkRead100kNotes(b *testing.B) {
	const notes = 100_000
	data := longSong(b, notes)
	perSecond := func(b *testing.B) {
		b.ReportMetric(notes*float64(b.N)/b.Elapsed().Seconds(), "notes/s")
	}
	b.Run("song", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			songs, err := Parse(data, "")
			if err != nil || len(songs[0].Notes) != notes {
				b.Fatal(err)
			}
		}
		perSecond(b)
	})
	// gomidi's own reader on the same file: events only, no notes, bars or order.
	b.Run("gomidi", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := smf.ReadFrom(bytes.NewReader(data)); err != nil {
				b.Fatal(err)
			}
		}
		perSecond(b)
	})
}
