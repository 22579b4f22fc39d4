package crank

import "gonum.org/v1/gonum/stat/distuv"

// Twice a standard uncertainty should hold the truth 95 times in 100, for few
// values as for many: the two functions here widen what is known from few.

const held = 0.95

// widened is by how much a standard deviation that is known from so many
// independent values has to be widened so that two of it hold the truth: Student's
// t over 2 (JCGM 100:2008, G.3).
func widened(dof float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile((1+held)/2) / 2
}

// deviationDoubt is the standard uncertainty of a standard deviation s that is
// known from ν independent values, as a fraction of it: half of the k with
//
//	P(|σ − s| ≤ k s) = P(ν/(1 + k)² ≤ χ² ≤ ν/(1 − k)²) = 95 %
//
// s with the standard error se is worth ν = s²/(2 se²) of them. For large ν that is the standard error, 1/√(2ν). For few values it is more: a
// small s is small by chance, and its standard error with it.
func deviationDoubt(dof float64) float64 {
	chi := distuv.ChiSquared{K: dof}
	low, high := 0.0, 20.0
	for range 60 {
		k := (low + high) / 2
		holds := 1 - chi.CDF(dof/((1+k)*(1+k)))
		if k < 1 {
			holds -= 1 - chi.CDF(dof/((1-k)*(1-k)))
		}
		if holds < held {
			low = k
		} else {
			high = k
		}
	}
	return high / 2
}
