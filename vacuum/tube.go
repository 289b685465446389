package vacuum

// Coefficients of the reduced flow rate of a long tube, G = δ/4 + s(δ), with
// s = slipFar + Σ a/(1 + δ/b)². They are fitted to the S-model solution of the
// linearised kinetic equation for diffuse walls, recomputed by collocation, 17
// values from δ = 0.001 to 20; the fit keeps G within 0.06 % of all of them and
// meets both limits, s(0) = 8/(3√π) and G = δ/4 + 1.018. Squares are used
// because their integral needs no logarithm.
const (
	slipFree = 8 / (3 * rootPi)
	slipFar  = 1.018
	slipA1   = 0.02943871
	slipB1   = 0.01854493
	slipA2   = 0.15183235
	slipB2   = 0.24106663
	slipA3   = 0.15655665
	slipB3   = 2.11314206
	slipA4   = slipFree - slipFar - slipA1 - slipA2 - slipA3
	slipB4   = 15.23295829
	rootPi   = 1.772453850905516
)

// ReducedTubeFlow is G(δ) of a long circular tube with diffuse walls: the mass
// flow is G·πR³·(dp/dx)/v0, with δ = R·p/(µ·v0) and v0 = √(2RT/M). It follows
// the S-model within 0.06 % of its tabulated values; δ is 0 or more, otherwise
// the answer is meaningless.
func ReducedTubeFlow(delta float64) float64 {
	above, below := meanSlip(delta, delta)
	return delta/4 + slipFar + above/below
}

// meanSlip is the mean of s over δ from d2 to d1, (S(d1)-S(d2))/(d1-d2), less
// slipFar, in a form in which nothing cancels, as a fraction: one division is
// cheaper than the four of its terms.
func meanSlip(d1, d2 float64) (above, below float64) {
	f1, f2, f3, f4 := slipFactors(d1, d2)
	f12, f34 := f1*f2, f3*f4
	return (slipA1*f2+slipA2*f1)*f34 + (slipA3*f4+slipA4*f3)*f12, f12 * f34
}

// slipFactors are (1 + d1/b)·(1 + d2/b) of every term of s.
func slipFactors(d1, d2 float64) (f1, f2, f3, f4 float64) {
	sum, product := d1+d2, d1*d2
	f1 = 1 + sum*(1/slipB1) + product*(1/(slipB1*slipB1))
	f2 = 1 + sum*(1/slipB2) + product*(1/(slipB2*slipB2))
	f3 = 1 + sum*(1/slipB3) + product*(1/(slipB3*slipB3))
	f4 = 1 + sum*(1/slipB4) + product*(1/(slipB4*slipB4))
	return f1, f2, f3, f4
}

// meanSlipSlopes is the mean of s with its derivatives by d1 and d2. Every term
// a/f has a/(b·f²)·(1 + d2/b) for the one by d1.
func meanSlipSlopes(d1, d2 float64) (s, by1, by2 float64) {
	f1, f2, f3, f4 := slipFactors(d1, d2)
	f12, f34 := f1*f2, f3*f4
	per := 1 / (f12 * f34)
	per1, per2, per3, per4 := per*f34*f2, per*f34*f1, per*f12*f4, per*f12*f3
	s1, s2, s3, s4 := slipA1*per1, slipA2*per2, slipA3*per3, slipA4*per4
	g1, g2, g3, g4 := s1*per1*(1/slipB1), s2*per2*(1/slipB2), s3*per3*(1/slipB3), s4*per4*(1/slipB4)
	flat, steep := g1+g2+g3+g4, g1*(1/slipB1)+g2*(1/slipB2)+g3*(1/slipB3)+g4*(1/slipB4)
	return slipFar + s1 + s2 + s3 + s4, -flat - steep*d2, -flat - steep*d1
}
