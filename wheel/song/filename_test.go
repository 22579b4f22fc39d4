package song

import (
	"strings"
	"testing"
)

func TestAFileNameFromOutsideIsMadeFitToShow(t *testing.T) {
	for name, want := range map[string]string{
		"../../etc/mill.mid":                "mill.mid",
		`C:\mill.mid`:                       "mill.mid",
		"mi\x00ll\x1b[31m\r\n.mid":          "mill[31m.mid",
		"\xff\xfemill.mid":                  "mill.mid",
		"":                                  "song.mid",
		"folder/":                           "song.mid",
		" ":                                 "song.mid",
		strings.Repeat("é", MaxFileName+50): strings.Repeat("é", MaxFileName),
	} {
		if got := FileName(name); got != want {
			t.Errorf("%q is kept as %q, want %q", name, got, want)
		}
	}
}
