package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"pinwright/timing"
	"pinwright/wheel"
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

// readFile reads a machine or pinning file, none of it if it is too large. Its
// error does not name the file.
func readFile(path string) ([]byte, error) {
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
	data, err := io.ReadAll(io.LimitReader(f, wheel.MaxFileBytes+1))
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

func readMachine(path string) (*timing.Works, error) {
	data, err := readFile(path)
	if err != nil {
		return nil, err
	}
	return timing.ReadMachine(data)
}

func readPinning(path string) (*wheel.Pinning, error) {
	data, err := readFile(path)
	if err != nil {
		return nil, err
	}
	return wheel.ReadPinning(data)
}
