package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"

	"pinwright/wheel"
	"pinwright/wheel/file"
)

// target is a file about to be written.
type target struct {
	path string      // through every link
	mode fs.FileMode // of the file that is there; 0 where none is
}

// targetFor looks at what is at path before anything is written there. It
// refuses to replace one of the files read, and anything but a pinning unless
// forced. Its error does not name the file.
func targetFor(path string, force bool, read ...string) (target, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if folder, err := os.Stat(filepath.Dir(path)); err != nil || !folder.IsDir() {
			return target{}, fmt.Errorf("there is no folder %s to write it in", filepath.Dir(path))
		}
		if _, err := os.Lstat(path); err == nil {
			return target{}, errors.New("it is a link that leads nowhere")
		}
		return target{path: path}, nil
	case err != nil:
		return target{}, bare(err)
	case info.IsDir():
		return target{}, errors.New("it is a folder; name a file in it")
	case !info.Mode().IsRegular():
		return target{}, errors.New("it is not a regular file")
	}
	for _, other := range read {
		if o, err := os.Stat(other); err == nil && os.SameFile(info, o) {
			return target{}, fmt.Errorf("it is the same file as %s, which would be lost; name another", other)
		}
	}
	if !force && info.Size() > 0 {
		if _, err := readPinning(path); err != nil {
			return target{}, errors.New("it is there already and not a pinning file; name another, or replace it with -force")
		}
	}
	through, err := filepath.EvalSymlinks(path)
	return target{through, info.Mode().Perm()}, bare(err)
}

// write puts a pinning in the target's place, whole or not at all.
func (t target) write(p *wheel.Pinning) error {
	if err := p.Check().Err(); err != nil {
		return err // it could not be read back
	}
	return t.fill(file.Pinning(p).WriteTo)
}

// fill writes the target's file, whole or not at all: it writes a file beside
// it, brings that to the disk and renames it.
func (t target) fill(write func(io.Writer) (int64, error)) (err error) {
	mode := t.mode
	if mode == 0 {
		mode = 0o666 // less what the user's mask takes away
	}
	beside := fmt.Sprintf("%s.%08x.new", t.path, rand.Uint32())
	f, err := os.OpenFile(beside, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return bare(err)
	}
	defer func() {
		if err != nil {
			_ = os.Remove(beside)
		}
	}()
	_, err = write(f)
	if err == nil && t.mode != 0 {
		err = f.Chmod(t.mode)
	}
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return bare(err)
	}
	if err = os.Rename(beside, t.path); err != nil {
		var link *os.LinkError
		if errors.As(err, &link) {
			return link.Err
		}
		return err
	}
	return syncFolder(filepath.Dir(t.path))
}

// syncFolder brings a rename to the disk. Windows does so by itself, and has no
// way to ask for it.
func syncFolder(path string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	folder, err := os.Open(path)
	if err != nil {
		return bare(err)
	}
	return bare(errors.Join(folder.Sync(), folder.Close()))
}
