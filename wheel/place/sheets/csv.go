package sheets

import (
	"bytes"
	"encoding/csv"
	"io"
	"math"
	"strconv"
	"strings"

	"pinwright/wheel"
	"pinwright/wheel/place"
	"pinwright/wheel/place/paper"
)

// The first lines of the files.
var (
	pinListHeader    = []string{"step", "bar", "beat", "row", "channel", "angle_deg", "arc_mm", "edge_mm", "radius_mm"}
	changeoverHeader = []string{"step", "bar", "beat", "row", "channel", "do"}
)

// Ours is true for a file that this package made, or for one that package paper
// wrote.
func Ours(file []byte) bool {
	for _, line := range [][]string{pinListHeader, changeoverHeader} {
		if bytes.HasPrefix(file, []byte(strings.Join(line, ",")+"\r\n")) {
			return true
		}
	}
	return paper.Ours(file)
}

// PinListCSV writes a pinning as comma-separated values (RFC 4180), by step and
// row: beats as decimals from 1, the angle from the seam in degrees, the arc
// from it in mm on a radius, which stands last, and the distance from the
// wheel's edge in mm, empty where the machine's file has no row_pitch_mm.
//
// A channel's id that a spreadsheet would take for a formula has an apostrophe
// before it.
func PinListCSV(out io.Writer, m *wheel.Machine, p *wheel.Pinning, radius Radius) error {
	if err := place.Fits(m, p, ""); err != nil {
		return err
	}
	w := m.Wheel
	radiusMM, err := radius.MM(w)
	if err != nil {
		return err
	}
	arcMM := 2 * math.Pi * radiusMM / float64(w.Steps)
	lines := [][]string{pinListHeader}
	for _, move := range place.Moves(m, nil, p.Pins, 0) {
		edge := ""
		if mm, known := m.EdgeMM(move.Row); known {
			edge = decimals(mm, 3)
		}
		lines = append(lines, append(fields(move),
			decimals(w.AngleDeg(move.Step), 4), decimals(float64(move.Step)*arcMM, 3), edge, decimals(radiusMM, 3)))
	}
	return writeCSV(out, lines)
}

// ChangeoverCSV writes a plan's pulls and drives, in its order, as
// comma-separated values.
func ChangeoverCSV(out io.Writer, plan *place.Plan) error {
	lines := [][]string{changeoverHeader}
	for _, move := range plan.List {
		lines = append(lines, append(fields(move), string(move.Do)))
	}
	return writeCSV(out, lines)
}

func fields(m place.Move) []string {
	return []string{strconv.Itoa(m.Step), strconv.Itoa(m.Bar), decimals(m.Beat, 4), strconv.Itoa(m.Row), noFormula(m.Channel)}
}

// noFormula keeps a spreadsheet from running text (CWE-1236).
func noFormula(s string) string {
	if strings.HasPrefix(s, "'") || s != "" && strings.ContainsRune("=+-@", rune(s[0])) {
		return "'" + s
	}
	return s
}

func decimals(v float64, n int) string { return strconv.FormatFloat(round(v, n), 'f', -1, 64) }

func writeCSV(out io.Writer, lines [][]string) error {
	w := csv.NewWriter(out)
	w.UseCRLF = true
	return w.WriteAll(lines)
}
