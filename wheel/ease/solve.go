package ease

import "context"

// Solve finds the answer to a problem that costs the least or, when its context
// ends first, the cheapest that it has found, with what it has proved of it. The
// same problem has the same answer every time that there is time enough.
//
// The answer breaks none of the problem's rules, even where the context has
// ended before the call.
func Solve(ctx context.Context, p Problem) Result {
	return p.solve(ctx, usualEffort.within(p.Limits))
}

func (p *Problem) solve(ctx context.Context, e effort) Result {
	m, ok := newModel(p)
	if !ok {
		r := Result{Chosen: m.firstCome(p)}
		r.add(p)
		return r
	}
	s := solver{ctx: ctx, effort: e}
	found := s.solve(m)
	r := Result{Chosen: make([]int, len(p.Notes)), Exact: found.exact()}
	for n, o := range found.answer {
		if r.Chosen[n] = LeftOut; o != LeftOut {
			r.Chosen[n] = int(m.candidate[o])
		}
	}
	r.add(p)
	r.Impossible = found.lower > p.forbidding()/2
	if r.LowerBound = min(found.lower, r.Cost); r.Exact {
		r.LowerBound = r.Cost
	}
	return r
}

// add adds up what an answer costs.
func (r *Result) add(p *Problem) {
	for i, c := range r.Chosen {
		n := &p.Notes[i]
		switch {
		case c != LeftOut:
			r.Cost += n.Candidates[c].Cost
		case n.Stays:
			r.Unkept = append(r.Unkept, i)
			fallthrough
		default:
			r.Cost += n.LeaveOut
		}
	}
}

// forbidding is what leaving out a note that stays costs the solver: far more
// than any answer that keeps all of them.
func (p *Problem) forbidding() float64 {
	sum := 1.0
	for i := range p.Notes {
		n := &p.Notes[i]
		most := n.LeaveOut
		for _, c := range n.Candidates {
			most = max(most, c.Cost)
		}
		sum += most
	}
	return 8 * sum
}

// effort is how far a solver goes. Widths and efforts are in states.
type effort struct {
	narrow      int // width of sweeps for an answer
	widest      int // width of sweeps for a proof, at the most
	proofStates int // of all sweeps for the proof of a component
	stepStates  int // of a sweep through a component with full steps
	rounds      int // of raising a bound
}

// Notes of one channel, round the seam, leave some hundred states after each
// of them; lanes that many channels share leave more than there is room for.
var usualEffort = effort{narrow: 256, widest: 4096, proofStates: 4_000_000, stepStates: 200_000, rounds: 80}

// within is an effort within a problem's limits.
func (e effort) within(l Limits) effort {
	if l.States > 0 {
		e.narrow, e.widest = min(e.narrow, l.States), l.States
		e.proofStates, e.stepStates = min(e.proofStates, 1000*l.States), min(e.stepStates, 50*l.States)
	}
	return e
}
