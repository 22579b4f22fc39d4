package page

import (
	"cmp"
	"slices"
)

// Link is where something leads.
type Link struct{ Text, URL string }

// Weight is how much a warning matters.
type Weight int

// The weights of a warning, the least first.
const (
	Note      Weight = iota // worth knowing
	Attention               // to be looked at before going on
	Stop                    // not safe, or not known to be
)

func (w Weight) String() string { return [...]string{"Note", "Attention", "Stop"}[w] }

// Class names the weight for the style sheet.
func (w Weight) Class() string { return [...]string{"note", "attention", "stop"}[w] }

// Outline is the weight's shape, in a square of 20 by 20, as the path of an SVG:
// weights are told apart by shape and word as well as by colour.
func (w Weight) Outline() string {
	return [...]string{
		"M3 3H17V17H3Z",
		"M10 2 19 18H1Z",
		"M6 1H14L19 6V14L14 19H6L1 14V6Z",
	}[w]
}

// Warning is one thing that a reader has to know, and what resolves it.
type Warning struct {
	Weight Weight
	Text   string
	Action Link  // where it is resolved; empty where there is no such page
	Press  Press // what resolves it on this page; empty where nothing does
}

// Press is a button that sends a form of the page.
type Press struct {
	Text, Of    string // what it does, and to what, for those who hear it alone
	Form        string // the form's id
	Name, Value string
}

// Gravest is the warnings with the gravest first; those of one weight keep their
// order.
func Gravest(all []Warning) []Warning {
	all = slices.Clone(all)
	slices.SortStableFunc(all, func(a, b Warning) int { return cmp.Compare(b.Weight, a.Weight) })
	return all
}

// Figure is a value with its unit under its name.
type Figure struct {
	Name, Value, Unit string
	Note              string // beside it in small print; may be empty
}

// folded is how many rows of a table are shown before it is opened.
const folded = 8
