package timing

import (
	"cmp"
	"slices"
)

// rules are all rules that a pinning can break. Findings of one step, and
// limits of one tempo, are listed in this order. To add a rule, write its file
// and add it here.
var rules = []rule{
	crowded{},
	unready{},
	unclear{},
	meeting{},
	overload{},
	silent{},
}

func init() {
	for i, r := range rules {
		r.kind().order = uint8(i)
	}
}

// Kind names a rule that a pinning can break. Two are the same rule where they
// are equal.
type Kind struct{ *kindFacts }

// kindFacts is what pages and commands show of a rule.
type kindFacts struct {
	name   string
	mark   string // outline in a square of 16 by 16, as the path of an SVG
	missed string // why a drop that breaks the rule is missed; empty where none is
	miss   miss   // which drop that is
	ofStep bool   // the rule is about all pins of a step: no channel causes it
	order  uint8  // place in the list of rules
}

// miss says which drop is missed where two pins of a channel break a rule.
type miss uint8

const (
	missNone  miss = iota // neither
	missLater             // that of the later pin, whatever became of the earlier
	missBusy              // that of the later pin, if the earlier one's was not missed itself
)

func (k Kind) String() string {
	if k.kindFacts == nil {
		return ""
	}
	return k.name
}

// Mark is the shape by which drawings tell the rule from others: the outline,
// in a square of 16 by 16, as the path of an SVG.
func (k Kind) Mark() string { return k.mark }

// Missed says why a drop that breaks the rule is missed, in words; it is empty
// where none is missed for it.
func (k Kind) Missed() string { return k.missed }

// Kinds are the kinds of all rules, in the order in which findings of one step
// are listed.
func Kinds() []Kind {
	kinds := make([]Kind, len(rules))
	for i, r := range rules {
		kinds[i] = r.kind()
	}
	return kinds
}

// rule is what every rule says for itself. How it is looked for is the work of
// its families: each rule is a [followRule], a [pairRule] or a [loneRule], or
// several of them.
type rule interface {
	kind() Kind
	// sentence says a finding in words a technician can act on: where, when and
	// by how much.
	sentence(w *Works, f Finding) string
}

// tempoRule is a rule that is kept at some tempos and broken at others.
type tempoRule interface {
	rule
	// limitSentence says what happens above the tempo at which a finding first
	// bites: where, and what there is too little of.
	limitSentence(w *Works, f Finding) string
	// mends are the values of figures each of which lifts a rung's limit to step
	// period p.
	mends(m *mender, r Rung, p float64) []Mend
}

// followRule is about two pins that follow each other on one channel.
// follow.go looks for all of them.
type followRule interface {
	tempoRule
	// asks is what the channel asks of two pins D steps apart at step period p:
	// D > arcSteps and (D − arcSteps) p ≥ needS.
	asks(c *Channel) (arcSteps, needS float64)
	// known reports whether the figures that it asks by are given.
	known(c *Channel) bool
}

// pairRule is about two marbles, of any channels and turns: the one ahead has to
// lead the other by a time where both pass. pairs.go looks for all of them.
type pairRule interface {
	tempoRule
	// groups are the passages that have to keep from each other: those of one
	// lane, for one.
	groups(w *Works) [][]Passage
	// need is the least lead, in seconds, of the first passage over the second.
	need(w *Works, first, second *Passage) float64
	// ownToo reports whether marbles of one channel have to keep from each other
	// too.
	ownToo() bool
	// afterStrikes reports whether both marbles have struck, so that no note is
	// touched.
	afterStrikes(first, second *Passage) bool
}

// loneRule is about a step or a pin by itself. It is kept or broken at every
// tempo alike.
type loneRule interface {
	rule
	// scan forbids every tempo for each cause of the rule; see [Turn.forbidAll].
	scan(t *Turn)
	// find appends every place where the rule is broken.
	find(t *Turn, dst []Finding) []Finding
}

// stopRule is a rule by which all drops of a channel are missed.
type stopRule interface {
	rule
	stops(c *Channel) bool
}

// ruleset is a machine's rules by family, with what they ask of this machine.
type ruleset struct {
	all   []rule
	asks  [][]ask // by channel: what rules ask between two of its pins
	pairs []pairing
	lone  []loneRule
	stops []stopRule
}

// pairing is a pairRule and the passages that it is about on this machine.
type pairing struct {
	rule   pairRule
	kind   Kind
	groups [][]Passage
	visits [][]visit // by channel, in the order of its marbles' way
	ownToo bool      // marbles of one channel as well
}

// visit is a channel's passage in one of a pairing's groups.
type visit struct {
	group int
	*Passage
}

func newPairing(r pairRule, w *Works) pairing {
	of := pairing{r, r.kind(), r.groups(w), make([][]visit, len(w.Channels)), r.ownToo()}
	for g, ps := range of.groups {
		for i := range ps {
			p := &ps[i]
			of.visits[p.Channel] = append(of.visits[p.Channel], visit{g, p})
		}
	}
	for _, vs := range of.visits {
		slices.SortStableFunc(vs, func(a, b visit) int { return cmp.Compare(a.Enter, b.Enter) })
	}
	return of
}

func (w *Works) setRules(rules []rule) {
	w.rules = ruleset{all: rules, asks: make([][]ask, len(w.Channels))}
	for _, r := range rules {
		if r, ok := r.(stopRule); ok {
			w.rules.stops = append(w.rules.stops, r)
		}
		if r, ok := r.(followRule); ok {
			for i := range w.Channels {
				c := &w.Channels[i]
				arc, need := r.asks(c)
				w.rules.asks[i] = append(w.rules.asks[i], ask{r.kind(), arc, need, r.known(c)})
			}
		}
		if r, ok := r.(pairRule); ok {
			w.rules.pairs = append(w.rules.pairs, newPairing(r, w))
		}
		if r, ok := r.(loneRule); ok {
			w.rules.lone = append(w.rules.lone, r)
		}
	}
}

// rule is the rule of a kind.
func (w *Works) rule(k Kind) rule { return w.rules.all[k.order] }

// met is the slack within which a bound counts as met exactly, and so as
// safe: one nanosecond. It keeps the last bit of a tempo that was printed and
// typed in again from deciding whether a pinning is safe.
const met = 1e-9
