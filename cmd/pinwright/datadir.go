package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
)

// dataFolder is where a user's programs keep what is theirs, and pinwright in
// it: $XDG_DATA_HOME or ~/.local/share (XDG Base Directory Specification 0.8),
// ~/Library/Application Support on macOS, %LocalAppData% on Windows.
func dataFolder(goos string, getenv func(string) string) (string, error) {
	home := func(variable string, below ...string) (string, error) {
		if dir := getenv(variable); dir != "" {
			return filepath.Join(append(append([]string{dir}, below...), "pinwright")...), nil
		}
		return "", fmt.Errorf("$%s is not set, so there is no folder for the data; name one with -data", variable)
	}
	switch goos {
	case "windows":
		return home("LocalAppData")
	case "darwin":
		return home("HOME", "Library", "Application Support")
	}
	if dir := getenv("XDG_DATA_HOME"); filepath.IsAbs(dir) { // a relative one is to be passed over
		return filepath.Join(dir, "pinwright"), nil
	}
	return home("HOME", ".local", "share")
}

// makeDataFolder makes the folder, for its user alone, unless it is there. An
// empty name stands for the usual folder.
func makeDataFolder(dir string) (string, error) {
	if dir == "" {
		var err error
		if dir, err = dataFolder(runtime.GOOS, os.Getenv); err != nil {
			return "", err
		}
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", fmt.Errorf("%s: the folder for the data cannot be made: %w", dir, bare(err))
	}
	if info, err := os.Stat(dir); err != nil || !info.IsDir() {
		return "", errors.New(dir + ": it is not a folder; name one with -data")
	}
	return dir, nil
}
