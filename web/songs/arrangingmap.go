package songs

import (
	"fmt"
	"strconv"
	"strings"

	"pinwright/web/page"
	"pinwright/wheel/arrange"
	"pinwright/wheel/song"
)

// songMap is the whole song as a row of columns, one for a bar or, in a long
// song, for several, each as high as its bars are full.
type songMap struct {
	Bars    int
	Fits    string // how many bars fit from each bar, "16 15×2 …" with counts
	Columns []mapColumn
	Numbers []mapNumber
	From    int // of the stretch; 0 where none is chosen
	Length  int
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
	mapHigh    = 72.0
	mapPillar  = 18.0 // the widest column
	mapColumns = 240  // the most
	mapNumbers = 8    // about
)

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
	sm.Columns = densityColumns(s)
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

func densityColumns(s *song.Song) []mapColumn {
	density := arrange.Density(s)
	n := min(len(density), mapColumns)
	columns := make([]mapColumn, n)
	full := make([]float64, n)
	fullest := 0.0
	for i := range columns {
		from, to := i*len(density)/n, (i+1)*len(density)/n
		for _, d := range density[from:to] {
			full[i] += float64(d.Notes)
		}
		full[i] /= float64(to - from)
		fullest = max(fullest, full[i])
		columns[i] = mapColumn{X: float64(from) / float64(len(density)) * mapWide, Width: float64(to-from) / float64(len(density)) * mapWide}
	}
	for i := range columns {
		wide := min(columns[i].Width*0.62, mapPillar)
		columns[i].X += (columns[i].Width - wide) / 2
		columns[i].Width = wide
		if fullest > 0 {
			columns[i].Height = full[i] / fullest * mapHigh
		}
	}
	return columns
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
