package main

import (
	"bytes"
	"errors"
	"io"
	"os"

	"pinwright/wheel/place/sheets"
)

// largestSheet is larger than any sheet is: what is larger is not read.
const largestSheet = 256 << 20

// sheetTarget is where a sheet is to be written: a new file, one that was a sheet
// before, or, forced, any file but those read.
func sheetTarget(path string, force bool, read ...string) (target, error) {
	if info, err := os.Stat(path); err == nil && info.Mode().IsRegular() && info.Size() > 0 && !force {
		var file []byte
		if info.Size() <= largestSheet {
			if file, err = os.ReadFile(path); err != nil {
				return target{}, bare(err)
			}
		}
		if !sheets.Ours(file) {
			return target{}, errors.New("it is there already and was not written by this command; name another file or folder, or replace it with -force")
		}
	}
	return targetFor(path, true, read...)
}

// fillSheet works a sheet out whole before it touches the target.
func fillSheet(to target, write func(io.Writer) error) error {
	var file bytes.Buffer
	if err := write(&file); err != nil {
		return err
	}
	return to.fill(file.WriteTo)
}
