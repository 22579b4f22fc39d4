package paper

// Para is a paragraph: a head, in bold, or text.
type Para struct {
	Text string
	Bold bool
}

// Head is the head of the paragraphs that follow.
func Head(text string) Para { return Para{Text: text, Bold: true} }

// Body is a paragraph of text.
func Body(text string) Para { return Para{Text: text} }

// Flow sets paragraphs in columns of one width and height, one beside the other,
// and returns how many. A nil canvas only counts.
func Flow(c Canvas, paras []Para, pt, x, y, wide, high, gap float64) (columns int) {
	lineMM := pt * MMPerPoint * 1.35
	at, columns := y, 1
	for i, p := range paras {
		f := Font{p.Bold, pt}
		if p.Bold {
			f.Pt *= 1.15
			if i > 0 && at > y {
				at += lineMM * 0.5
			}
		}
		lines := f.Wrap(p.Text, wide)
		need := float64(len(lines))
		if p.Bold {
			need += 3 // of what follows it
		}
		if at > y && at+min(need, 4)*lineMM > y+high {
			at, x, columns = y, x+wide+gap, columns+1
		}
		for _, line := range lines {
			if at > y && at+lineMM > y+high {
				at, x, columns = y, x+wide+gap, columns+1
			}
			if c != nil {
				Write(c, x, at+lineMM*0.75, line, f, Left)
			}
			at += lineMM
		}
		at += lineMM * 0.2
	}
	return columns
}

// FlowHeight is how high paragraphs come to in one column.
func FlowHeight(paras []Para, pt, wide float64) float64 {
	for high := 20.0; ; high += 2 {
		if Flow(nil, paras, pt, 0, 0, wide, high, 0) == 1 {
			return high
		}
	}
}
