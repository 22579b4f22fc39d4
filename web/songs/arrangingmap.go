package songs

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pinwright/web/page"
	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

// songMap is the whole song as a picture: a row for each part, with a column for
// each bar or, in a long song, for several, as high as the bar is full of its
// notes.
type songMap struct {
	Bars    int
	Fits    string // how many bars fit from each bar, "16 15×2 …" with counts
	Rows    []mapRow
	Numbers []mapNumber
	From    int // of the stretch; 0 where none is chosen
	Length  int
}

// mapRow is a part, or what is left of many.
type mapRow struct {
	Label   string
	Notes   int
	Columns []mapColumn
}

type mapColumn struct{ X, Width, Height float64 }

// mapNumber is a bar number under the map.
type mapNumber struct {
	X   string // in percent of the map's width
	Bar int
}

// The map's drawing, in units of its own.
const (
	mapWide    = 1000.0
	mapRowHigh = 30.0 // of a row
	mapGap     = 4.0  // between a row's floor and the next
	mapPillar  = 18.0 // the widest column
	mapColumns = 240  // the most
	mapNumbers = 8    // about
	mapRows    = 8    // the most; parts beyond share the last
)

// high is the height of the whole map.
func (m songMap) high() float64 { return float64(len(m.Rows)) * mapRowHigh }

// floor is where the columns of a row stand.
func (m songMap) floor(row int) float64 { return float64(row+1)*mapRowHigh - mapGap/2 }

// tall is the height of the map on the page: of many parts each is lower.
func (m songMap) tall() string {
	if len(m.Rows) > 4 {
		return fmt.Sprintf("%.2frem", 1.25*float64(max(len(m.Rows), 6)))
	}
	return fmt.Sprintf("%drem", 2*max(len(m.Rows), 2))
}

// barX is where a bar, counted from 1, starts on the map.
func (m songMap) barX(bar int) float64 { return float64(bar-1) / float64(m.Bars) * mapWide }

func (m songMap) stretchX() float64    { return m.barX(m.From) }
func (m songMap) stretchWide() float64 { return float64(m.Length) / float64(m.Bars) * mapWide }
func (m songMap) stretchWords() string {
	if m.Length == 1 {
		return fmt.Sprintf("bar %d of %d", m.From, m.Bars)
	}
	return fmt.Sprintf("bars %d to %d of %d", m.From, m.From+m.Length-1, m.Bars)
}

func mapOf(m page.Compiled, s *song.Song, sec arrange.Section) songMap {
	sm := songMap{Bars: len(s.Bars), From: sec.FromBar, Length: sec.Bars}
	if sm.Bars == 0 {
		return sm
	}
	sm.Rows = mapRowsOf(s)
	if m.Works != nil {
		sm.Fits = fitsText(arrange.Fits(m.File, s))
	}
	each := niceStep(sm.Bars / mapNumbers)
	for bar := 1; bar <= sm.Bars; bar++ {
		if bar == 1 || bar%each == 0 && bar+each/2 <= sm.Bars+1 {
			sm.Numbers = append(sm.Numbers, mapNumber{page.Pixels(sm.barX(bar)/mapWide*100) + "%", bar})
		}
	}
	return sm
}

// mapRowsOf are the parts by track, each with its notes over the song. Of more
// parts than there are rows, those with the fewest notes share the last.
func mapRowsOf(s *song.Song) []mapRow {
	parts := s.Parts()
	slices.SortStableFunc(parts, func(a, b song.PartFacts) int { return b.Notes - a.Notes })
	own := len(parts)
	if own > mapRows {
		own = mapRows - 1
	}
	slices.SortFunc(parts[:own], func(a, b song.PartFacts) int { return comparePart(a.Part, b.Part) })
	rows := make([]mapRow, min(len(parts), mapRows))
	rowOf := map[song.Part]int{}
	for i, p := range parts {
		row := min(i, own, len(rows)-1)
		rowOf[p.Part] = row
		rows[row].Label = say.Steady(p.Name)
		rows[row].Notes += p.Notes
	}
	if own < len(parts) {
		rows[own].Label = say.Count(len(parts)-own, "part more", "parts more")
	}
	n := min(len(s.Bars), mapColumns)
	full := make([][]float64, len(rows))
	for i := range full {
		full[i] = make([]float64, n)
	}
	bar, fullest := 0, 0.0
	for _, note := range s.Notes {
		for bar+1 < len(s.Bars) && s.Bars[bar+1].Tick <= note.Tick {
			bar++
		}
		at := columnOf(bar, n, len(s.Bars))
		from, to := at*len(s.Bars)/n, (at+1)*len(s.Bars)/n
		cell := &full[rowOf[note.Part()]][at]
		*cell += 1 / float64(to-from)
		fullest = max(fullest, *cell)
	}
	for i := range rows {
		rows[i].Columns = columns(full[i], fullest, len(s.Bars))
	}
	return rows
}

// columnOf is the column, of n, that a bar is part of.
func columnOf(bar, n, bars int) int {
	at := bar * n / bars
	for (at+1)*bars/n <= bar {
		at++
	}
	return at
}

// columns draw how full bars are, those that are empty left out.
func columns(full []float64, fullest float64, bars int) (drawn []mapColumn) {
	for i, is := range full {
		if is == 0 {
			continue
		}
		from, to := i*bars/len(full), (i+1)*bars/len(full)
		room := float64(to-from) / float64(bars) * mapWide
		wide := min(room*0.62, mapPillar)
		drawn = append(drawn, mapColumn{
			X: float64(from)/float64(bars)*mapWide + (room-wide)/2, Width: wide,
			Height: max(2, is/fullest*(mapRowHigh-mapGap)),
		})
	}
	return drawn
}

// niceStep is a round number not far above n.
func niceStep(n int) int {
	for scale := 1; ; scale *= 10 {
		for _, step := range []int{1, 2, 4, 5} {
			if scale*step >= n {
				return max(scale*step, 1)
			}
		}
	}
}

// fitsText is how many bars fit from each bar, with equal ones counted: "16×3
// 15 14".
func fitsText(sections []arrange.Section) string {
	var b strings.Builder
	for i := 0; i < len(sections); {
		end := i + 1
		for end < len(sections) && sections[end].Bars == sections[i].Bars {
			end++
		}
		if i > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(strconv.Itoa(sections[i].Bars))
		if end-i > 1 {
			fmt.Fprintf(&b, "×%d", end-i)
		}
		i = end
	}
	return b.String()
}
