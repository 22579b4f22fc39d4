package crank

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"pinwright/wheel"
)

// MinRippleMarks is how many marks a turn of the crank has to have for ripple to
// be seen: twice a turn is a wave with four of them to it.
const MinRippleMarks = 8

// mostUsedMarks is how many marks a turn are used, where a divisor of what the disc
// has allows it. Ripple once and twice a turn needs no more.
const mostUsedMarks = 64

// Mark is a mark of the disc at the crank as the sensor sees it pass. They are
// counted through all turns: with 16 marks a turn, mark 35 is in the third turn.
type Mark struct {
	N   int
	AtS float64
}

// MarksOf is how many marks the sensor of a wheel's crank has in a turn of it.
func MarksOf(w wheel.Wheel) int { return max(w.CrankMarks, 1) }

// TurnOfMark is how many turns the crank has made when a sensor has counted so many
// marks. The error is a sentence for whoever connected the sensor.
func TurnOfMark(w wheel.Wheel, mark float64) (float64, error) {
	if mark != math.Trunc(mark) {
		return 0, fmt.Errorf("mark is %s; it should be how many marks have passed, a whole number from 0 up", wheel.Number(mark))
	}
	return mark / float64(MarksOf(w)), nil
}

// usedMarks is how many of a disc's marks are used in a turn: all of them or, where
// there are many, every second, third and so on.
func usedMarks(perTurn int) int {
	for used := min(perTurn, mostUsedMarks); used >= MinRippleMarks; used-- {
		if perTurn%used == 0 {
			return used
		}
	}
	return perTurn
}

// thinned are copies of the marks that are used, counted among themselves.
func thinned(marks []Mark, perTurn int) ([]Mark, int) {
	used := usedMarks(perTurn)
	every := perTurn / used
	some := make([]Mark, 0, len(marks))
	for _, m := range marks {
		if m.N%every == 0 {
			some = append(some, Mark{m.N / every, m.AtS})
		}
	}
	return some, used
}

// inOrder says what is wrong with marks that do not follow each other.
func inOrder(marks []Mark) error {
	for i, m := range marks {
		switch {
		case m.N < 0 || math.IsNaN(m.AtS) || math.IsInf(m.AtS, 0):
			return fmt.Errorf("mark %d at %s s is no mark", m.N, wheel.Number(m.AtS))
		case i > 0 && (m.N <= marks[i-1].N || m.AtS <= marks[i-1].AtS):
			return errors.New("the marks and their times have to grow together")
		}
	}
	return nil
}

// Faults is what is wrong with the marks of a stretch.
type Faults struct {
	Missed  int // marks that the sensor did not count
	Doubled int // that it counted twice
	Lost    int // that it counted and did not send, or that did not arrive
}

// How many times as long as its neighbours a span is that misses a mark, two spans
// are that are one together, and the shorter of these is at most. From mark to mark
// of eight, ripple of a third twice a turn makes no span longer than 1.6 times its
// neighbours, nor shorter than half.
const (
	missedLeast, missedMost   = 1.6, 2.4
	doubledLeast, doubledMost = 0.7, 1.4
	bounceMost                = 0.35
	alikeMost                 = 1.4 // neighbours that can be relied on
)

// mended counts again where a mark was missed or counted twice: where one span
// takes twice as long as the spans beside it, or two take as long as one and one of
// them hardly any time. It
// changes the marks that it is given.
func mended(marks []Mark) ([]Mark, Faults) {
	var f Faults
	span := func(i int) float64 { // from mark i to the next, where they are neighbours
		if i < 0 || i+1 >= len(marks) || marks[i+1].N != marks[i].N+1 {
			return math.NaN()
		}
		return marks[i+1].AtS - marks[i].AtS
	}
	beside := func(a, b float64) float64 { // their mean; NaN where they are not alike
		if !(apartBy(a, b) <= alikeMost) {
			return math.NaN()
		}
		return (a + b) / 2
	}
	recount := func(from, by int) {
		for i := from; i < len(marks); i++ {
			marks[i].N += by
		}
	}
	for i := 1; i+2 < len(marks); i++ {
		if long := span(i) / beside(span(i-1), span(i+1)); long >= missedLeast && long <= missedMost {
			recount(i+1, 1)
			f.Missed++
			continue
		}
		a, b := span(i), span(i+1)
		one := beside(span(i-1), span(i+2))
		if both := (a + b) / one; both >= doubledLeast && both <= doubledMost && min(a, b)/one <= bounceMost {
			recount(i+2, -1)
			marks = slices.Delete(marks, i+1, i+2)
			f.Doubled++
		}
	}
	for i := 1; i < len(marks); i++ {
		f.Lost += marks[i].N - marks[i-1].N - 1
	}
	f.Lost -= f.Missed
	return marks, f
}
