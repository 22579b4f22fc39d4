package page

import (
	"net/http"
	"strings"

	"pinwright/store"
)

// Frame is what stands around every page.
type Frame struct {
	Title   string
	Above   []Link // the pages above it, the highest first; none for the parts themselves
	Here    string // the address of the part of the app it belongs to
	Machine string // the machine that the page is about, or that the crew works on; empty where there is none
	At      int64  // its id
	Version string
}

// Frame is the frame of a page, about the machine that the crew works on.
func (k *Kit) Frame(r *http.Request, title string) Frame {
	f := Frame{Title: title, Here: "/" + firstPart(r.URL.Path), Version: k.Version}
	if m, err := k.CurrentMachine(r.Context()); err == nil && m != nil {
		f.Machine, f.At = m.Name, m.ID
	}
	return f
}

// FrameOf is the frame of a page that is about a machine.
func (k *Kit) FrameOf(r *http.Request, title string, m *store.Machine) Frame {
	return Frame{Title: title, Here: "/" + firstPart(r.URL.Path), Machine: m.File.Name, At: m.ID, Version: k.Version}
}

func firstPart(path string) string {
	part, _, _ := strings.Cut(strings.TrimPrefix(path, "/"), "/")
	return part
}

// Under is the frame with the pages above it, the highest first.
func (f Frame) Under(above ...Link) Frame {
	f.Above = above
	return f
}
