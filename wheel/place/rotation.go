package place

import (
	"fmt"
	"math"
	"math/bits"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

	"pinwright/wheel"
)

// Bounds of what a search may take: entries of a group's tables, and steps of
// its assignments. They allow any real machine and keep a search to seconds.
const (
	maxTable  = 1 << 23
	maxAssign = 1 << 31
)

// bestPlacing is the placing that keeps most pins. With rotation the pins kept
// at every shift are the circular cross-correlation of the two pinnings, summed
// over channels; with exchange as well, each group of channels with equal keys
// adds, at every shift, the best assignment of its rows.
func bestPlacing(m *wheel.Machine, a, b rows, o Options) (placing, error) {
	n := m.Wheel.Steps
	shifts := 1
	if o.Rotate {
		shifts = n
	}
	groups := groupsOf(m, a, b, o.Exchange)
	if err := affordable(groups, shifts); err != nil {
		return placing{}, err
	}
	kept := make([]int, shifts)
	for _, group := range groups {
		pairs := correlations(group, a, b, n, shifts)
		for r := range kept {
			count, _ := assign(len(group), func(i, j int) int { return pairs[i*len(group)+j][r] })
			kept[r] += count
		}
	}
	best := placing{rotation: slices.Index(kept, slices.Max(kept)), to: identity(len(m.Channels))}
	for _, group := range groups {
		_, to := assign(len(group), func(i, j int) int { return common(a[group[j]], b[group[i]], best.rotation, n) })
		for i, j := range to {
			best.to[group[i]] = group[j]
		}
	}
	return best, nil
}

// groupsOf lists the channels with pins in groups that may exchange their rows:
// channels in service whose keys are equal. Every other is a group by itself.
func groupsOf(m *wheel.Machine, a, b rows, exchange bool) [][]int {
	var groups [][]int
	of := map[string]int{}
	for c := range m.Channels {
		ch := &m.Channels[c]
		if exchange && ch.Service == wheel.Playing && len(ch.Keys) > 0 {
			keys := fmt.Sprint(ch.Drum, slices.Sorted(slices.Values(ch.Keys)))
			if g, known := of[keys]; known {
				groups[g] = append(groups[g], c)
				continue
			}
			of[keys] = len(groups)
		}
		groups = append(groups, []int{c})
	}
	return slices.DeleteFunc(groups, func(group []int) bool {
		return !slices.ContainsFunc(group, func(c int) bool { return len(b[c]) > 0 })
	})
}

func affordable(groups [][]int, shifts int) error {
	for _, group := range groups {
		k := float64(len(group))
		if k > 1 && (k*k*float64(shifts) > maxTable || k*k*k*float64(shifts) > maxAssign) {
			return wheel.Refuse(wheel.ErrInvalid, "%d channels have equal keys: exchanging their rows at each of %d shifts is more than can be worked out; leave out either the rotation or the exchange", len(group), shifts)
		}
	}
	return nil
}

// correlations counts, for each channel of a group and each row of it to which
// its new pins may go, the pins kept at every shift.
func correlations(group []int, a, b rows, n, shifts int) [][]int {
	k := len(group)
	pairs := make([][]int, k*k)
	flat := make([]int, k*k*shifts)
	for i, of := range group {
		for j, on := range group {
			counts := flat[:shifts:shifts]
			flat = flat[shifts:]
			if shifts == 1 {
				counts[0] = common(a[on], b[of], 0, n)
			} else {
				correlate(counts, a[on], b[of])
			}
			pairs[i*k+j] = counts
		}
	}
	return pairs
}

// correlate sets counts[r] to how many steps of a are (s + r) mod N for an s of
// b, N the length of counts:
//
//	counts[r] = Σ_s a[(s + r) mod N] b[s]
//
// Few pins are counted pair by pair, many by the correlation theorem. The sums
// are whole numbers no larger than N, far within what rounding restores.
func correlate(counts []int, a, b []int) {
	n := len(counts)
	padded := 1 << bits.Len(uint(2*n-1)) // room for every difference without wrapping
	if len(a)*len(b) <= 4*padded*bits.Len(uint(padded)) {
		for _, x := range a {
			for _, y := range b {
				r := x - y
				if r < 0 {
					r += n
				}
				counts[r]++
			}
		}
		return
	}
	fft := fourier.NewFFT(padded)
	spectrum := func(steps []int) []complex128 {
		wave := make([]float64, padded)
		for _, s := range steps {
			wave[s] = 1
		}
		return fft.Coefficients(nil, wave)
	}
	product, other := spectrum(a), spectrum(b)
	for i, v := range other {
		product[i] *= complex(real(v), -imag(v))
	}
	wave := fft.Sequence(nil, product)
	scale := 1 / float64(padded)
	for r := range counts {
		counts[r] = int(math.Round(wave[r] * scale)) // s + r on the same turn
		if r > 0 {
			counts[r] += int(math.Round(wave[padded-n+r] * scale)) // over the seam
		}
	}
}
