package song

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
)

// ReadFile reads the songs of a Standard MIDI File as Parse does. A file larger
// than MaxBytes is refused before it is read, and so is one that is no regular
// file. Errors name the file.
func ReadFile(path string) ([]*Song, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s: it is not a regular file; give a Standard MIDI File", path)
	}
	if info.Size() > MaxBytes {
		return nil, fmt.Errorf("%s: %w", path, tooLarge(info.Size()))
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return Read(f, path)
}

// Read reads the songs of a Standard MIDI File as Parse does, at most MaxBytes.
func Read(r io.Reader, name string) ([]*Song, error) {
	data, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return nil, named(name, err)
	}
	return Parse(data, name)
}

// Parse reads the songs of a Standard MIDI File: one for format 0 and 1; for
// format 2, where every track is a song of its own, one for each track that has
// notes. A file without a note gives one song without notes. The name, a file
// name or path, may be empty; it begins errors and stands in for a title.
//
// A damaged file of which the header and some track can be read is read up to
// the damage, and Warnings say what was left out; any other is refused with an
// error in one sentence. RIFF files that wrap a MIDI file (RMID) are unwrapped.
func Parse(data []byte, name string) ([]*Song, error) {
	songs, err := parse(data, name)
	if err != nil {
		return nil, named(name, err)
	}
	return songs, nil
}

func named(name string, err error) error {
	if name == "" {
		return err
	}
	return fmt.Errorf("%s: %w", name, err)
}

func tooLarge(bytes int64) error {
	return fmt.Errorf("it has %s bytes; a song may have up to %s", count(bytes), count(MaxBytes))
}

func parse(data []byte, name string) ([]*Song, error) {
	if len(data) > MaxBytes {
		return nil, errors.New("it has more than " + count(MaxBytes) + " bytes, the most a song may have")
	}
	data, err := unwrap(data)
	if err != nil {
		return nil, err
	}
	var w warnings
	h, rest, err := readHeader(data, &w)
	if err != nil {
		return nil, err
	}
	chunks := trackChunks(rest, &w)
	if len(chunks) == 0 {
		return nil, errors.New("it has a header but no track")
	}
	if h.tracks != len(chunks) && len(chunks) < MaxTracks {
		w.addf("the header announces %s; there are %s", plural(h.tracks, "track"), count(int64(len(chunks))))
	}
	parts := readParts(chunks, h)
	if !slices.ContainsFunc(parts, func(p *part) bool { return p.dead == nil }) {
		return nil, fmt.Errorf("nothing of its %s can be read; of track 1: %w", plural(len(parts), "track"), parts[0].dead)
	}
	if h.smpte {
		w.addf("its times are in parts of a second, not of a beat, so beats and bars are set at 120 quarter notes a minute")
	}
	if h.format == 2 {
		return separate(h, parts, w, name), nil
	}
	if h.format == 0 && len(parts) > 1 {
		w.addf("its format 0 has one track, but there are %d; they were read as sounding together", len(parts))
		h.format = 1
	}
	return []*Song{compose(h, parts, w, titleOf(name), MaxBars)}, nil
}

func readParts(chunks []chunk, h header) []*part {
	r := tracker{ticksPerQuarter: h.ticksPerQuarter}
	parts := make([]*part, len(chunks))
	for i, c := range chunks {
		index := i
		if h.format == 2 {
			index = 0
		}
		parts[i] = r.read(c, i+1, index)
	}
	return parts
}

// separate makes a song of each track of a format 2 file that has notes.
func separate(h header, parts []*part, w warnings, name string) []*Song {
	silent := func(p *part) bool { return len(p.notes) == 0 }
	if !slices.ContainsFunc(parts, func(p *part) bool { return !silent(p) }) {
		return []*Song{compose(h, parts[:1], w, titleOf(name), MaxBars)}
	}
	left := 0
	for _, p := range parts {
		if silent(p) {
			w.join(p.warnings)
			left++
		}
	}
	if left > 0 {
		w.addf("%s without notes left out", plural(left, "track"))
		parts = slices.DeleteFunc(parts, silent)
	}
	var songs []*Song
	bars := MaxBars
	for _, p := range parts {
		title := titleOf(name)
		if len(parts) > 1 {
			title = fmt.Sprintf("%s, sequence %d", title, p.number)
		}
		s := compose(h, []*part{p}, w.clone(), title, bars)
		bars = max(1, bars-len(s.Bars))
		songs = append(songs, s)
	}
	return songs
}
