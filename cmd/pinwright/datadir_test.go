package main

import (
	"path/filepath"
	"runtime"
	"testing"
)

// Sources: XDG Base Directory Specification 0.8 (a relative $XDG_DATA_HOME is
// to be ignored; the default is $HOME/.local/share); for macOS and Windows
// common practice.
func TestDataIsKeptWhereTheSystemHasIt(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("the paths are those of other systems")
	}
	for _, c := range []struct {
		name, goos string
		env        map[string]string
		want       string
	}{
		{"Linux", "linux", map[string]string{"HOME": "/home/ada"}, "/home/ada/.local/share/pinwright"},
		{"Linux with a folder of the user's", "linux", map[string]string{"HOME": "/home/ada", "XDG_DATA_HOME": "/data"}, "/data/pinwright"},
		{"Linux with a relative folder", "linux", map[string]string{"HOME": "/home/ada", "XDG_DATA_HOME": "data"}, "/home/ada/.local/share/pinwright"},
		{"FreeBSD", "freebsd", map[string]string{"HOME": "/home/ada"}, "/home/ada/.local/share/pinwright"},
		{"macOS", "darwin", map[string]string{"HOME": "/Users/ada", "XDG_DATA_HOME": "/data"}, "/Users/ada/Library/Application Support/pinwright"},
		{"Windows", "windows", map[string]string{"LocalAppData": "/ada/AppData/Local"}, "/ada/AppData/Local/pinwright"},
		{"Linux without a home", "linux", nil, "$HOME is not set, so there is no folder for the data; name one with -data"},
		{"Windows without one", "windows", map[string]string{"HOME": "/x"}, "$LocalAppData is not set, so there is no folder for the data; name one with -data"},
	} {
		got, err := dataFolder(c.goos, func(name string) string { return c.env[name] })
		if err != nil {
			got = err.Error()
		}
		if filepath.ToSlash(got) != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}
