package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/file"
)

// complain writes an error, each of its lines after the name of the file it is
// about.
func complain(stderr io.Writer, path string, err error) int {
	for line := range strings.SplitSeq(err.Error(), "\n") {
		fmt.Fprintf(stderr, "%s: %s\n", path, line)
	}
	return refused
}

// firstLine is the first of an error's problems.
func firstLine(err error) string {
	line, _, _ := strings.Cut(err.Error(), "\n")
	return line
}

// remark writes what is no error but worth knowing.
func remark(stderr io.Writer, format string, args ...any) {
	fmt.Fprintf(stderr, "note: "+format+"\n", args...)
}

// readFile reads a regular file, and no more of it than tells that it is too
// large. Its error does not name the file.
func readFile(path string, mostBytes int64) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, bare(err)
	case info.IsDir():
		return nil, errors.New("it is a folder; name a file in it")
	case !info.Mode().IsRegular(): // a pipe may never end, nor even begin
		return nil, errors.New("it is not a regular file")
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, bare(err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, mostBytes+1))
	return data, bare(err)
}

// bare is an error of a file without the file's name.
func bare(err error) error {
	var pathErr *fs.PathError
	if errors.As(err, &pathErr) {
		return pathErr.Err
	}
	return err
}

// inputs reads the files that a command needs. What is wrong with any of them is
// told before the command gives up.
type inputs struct {
	stderr io.Writer
	failed bool
}

// input is a file read by f, which does not name it in its error.
func input[T any](in *inputs, path string, f func(path string) (T, error)) T {
	v, err := f(path)
	if err != nil {
		complain(in.stderr, path, err)
		in.failed = true
	}
	return v
}

// tempo is the one asked for or, where none was, the pinning's. ok is false
// where there is neither.
func (u usage) tempo(stderr io.Writer, asked float64, p *wheel.Pinning, path string) (bpm float64, ok bool) {
	if bpm = cmp.Or(asked, p.TempoBPM); bpm == 0 {
		u.misused(stderr, "%s has no tempo_bpm; give a tempo with -tempo", path)
	}
	return bpm, bpm != 0
}

func readMachine(path string) (*timing.Works, error) {
	data, err := readFile(path, file.MaxBytes)
	if err != nil {
		return nil, err
	}
	return timing.ReadMachine(data)
}

func readPinning(path string) (*wheel.Pinning, error) {
	data, err := readFile(path, file.MaxBytes)
	if err != nil {
		return nil, err
	}
	return file.ReadPinning(data)
}

// remarkOnMachine says where a pinning was made for a machine of another name.
func remarkOnMachine(stderr io.Writer, m *wheel.Machine, p *wheel.Pinning, machinePath, pinningPath string) {
	if p.Machine != "" && p.Machine != m.Name {
		remark(stderr, "%s is for a machine called %s; %s is called %s", pinningPath, p.Machine, machinePath, m.Name)
	}
}
