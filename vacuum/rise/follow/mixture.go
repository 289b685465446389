package follow

import "math"

// candidate is one fit as the mixture sees it: a leak, and an amplitude that
// physics bounds.
type candidate struct {
	model         model
	weight        float64 // logarithm
	leak, varLeak float64 // Pa over the record
	b, varB, cov  float64 // amplitude, Pa, and its covariance with the leak
	low, high     float64 // bounds of the amplitude in standard errors about b
	below, mass   float64 // probability below the lower bound, and between both
	free          bool    // the bounds do not matter
}

// component is one normal part of what the readings say about the leak.
type component struct {
	weight, mean, inv float64 // inv is 1/(standard deviation)
	model             model
}

// Sizes of the mixture.
const (
	mostCandidates = 4*Bank + 2*fineHalf + 32
	mostParts      = 512
)

// mixture is what the readings say about the leak over the record, and how
// probable each law is.
type mixture struct {
	list    [mostCandidates]candidate
	n       int
	parts   [mostParts]component
	m       int
	low     float64 // below all parts
	high    float64 // above all parts
	model   [models]float64
	normal  table
	least   float64 // χ² of the best fit
	floor   float64 // logarithm of the weight below which candidates are left out
	occam   float64 // logarithm of the price of a term, √(2π/n_eff)
	shown   bool    // one source is, so that it may have a tail
	sharper bool    // a law of two time constants may count at its optimum, which is not averaged
	widen   float64 // Student's t over the normal quantile
	round   float64 // error of the leak by rounding that does not average out, Pa over the record
	rise    float64 // greatest rise by vapour, Pa
	fall    float64 // greatest fall, Pa
}

// fading is the probability of a source that fades.
func (m *mixture) fading() float64 { return m.model[vapour] + m.model[twoVapours] + m.model[powerLaw] }

// next is room for another candidate; the last one is given again when there is
// none, which the sizes exclude.
func (m *mixture) next() *candidate {
	m.n = min(m.n+1, mostCandidates)
	return &m.list[m.n-1]
}

func (m *mixture) likelihood(chi2 float64) float64 { return -(chi2 - m.least) / 2 }

// hopeless is the logarithm of a weight, relative to the best likelihood of the
// same law, that is not worth its bounds.
const hopeless = -40

// add takes the fit with amplitude k between lo and hi, by the mass that lies
// there.
func (m *mixture) add(law model, weight float64, s *solution, k int, lo, hi float64) {
	sb := m.widen * math.Sqrt(s.varB[k])
	if !(sb > 0) || weight < m.floor {
		return
	}
	a, b := (lo-s.b[k])/sb, (hi-s.b[k])/sb
	below := normalCDF(a)
	mass := normalCDF(b) - below
	if !(mass > 1e-9) {
		return
	}
	*m.next() = candidate{
		model: law, weight: weight + math.Log(mass), leak: s.leak, varLeak: s.varLeak,
		b: s.b[k], varB: s.varB[k], cov: s.cov[k], low: a, high: b, below: below, mass: mass, free: mass > 1-1e-4,
	}
}

// weightOf is the logarithm of a law's weight so far.
func (m *mixture) weightOf(law model) float64 {
	most, sum := math.Inf(-1), 0.0
	for i := range m.n {
		if c := &m.list[i]; c.model == law {
			most = max(most, c.weight)
		}
	}
	for i := range m.n {
		if c := &m.list[i]; c.model == law && c.weight > most-30 {
			sum += math.Exp(c.weight - most)
		}
	}
	return most + math.Log(sum)
}

// Evidence between a spread of time constants and a power law counts by a third
// up to untrusted (natural logarithm), in full beyond.
const (
	untrusted   = 9
	trustedPart = 1.0 / 3
)

// temper draws the weights of the two kinds of fading source together: no real
// source follows either law exactly, so that which of them happens to fit better
// is weaker evidence than its likelihood says, and the two disagree about the
// leak.
func (m *mixture) temper() {
	ratio := max(m.weightOf(vapour), m.weightOf(twoVapours)) - m.weightOf(powerLaw)
	if math.IsNaN(ratio) || math.IsInf(ratio, 0) {
		return
	}
	change := math.Copysign(min(math.Abs(ratio), untrusted)*(1-trustedPart), ratio)
	for i := range m.n {
		c := &m.list[i]
		switch {
		case c.model == powerLaw && change > 0:
			c.weight += change
		case (c.model == vapour || c.model == twoVapours) && change < 0:
			c.weight -= change
		}
	}
}

// normalise makes shares of the logarithms of the weights.
func (m *mixture) normalise() {
	most, total := math.Inf(-1), 0.0
	for i := range m.n {
		most = max(most, m.list[i].weight)
	}
	for i := range m.n {
		c := &m.list[i]
		c.weight = math.Exp(c.weight - most)
		total += c.weight
	}
	for i := range m.n {
		c := &m.list[i]
		c.weight /= total
		m.model[c.model] += c.weight
	}
}

// negligible is the share of the weight below which a candidate is left out.
const negligible = 3e-4

// split turns candidates into normal components: as they are where the bounds
// of the amplitude are far away, otherwise one for each slice of it.
func (m *mixture) split() {
	m.m = 0
	m.low, m.high = math.Inf(1), math.Inf(-1)
	for i := range m.n {
		c := &m.list[i]
		if !(c.weight > negligible) || !(c.varLeak > 0) {
			continue
		}
		if c.free {
			m.part(c.model, c.weight, c.leak, c.varLeak)
			continue
		}
		m.slice(c)
	}
}

// sliceEdges cut an amplitude that a bound limits, in units of its mean
// distance from that bound: close together next to it, where the leak is
// most unlike the unbounded fit.
// Candidates with a weight below light get every third.
var sliceEdges = [...]float64{0, 0.03, 0.08, 0.2, 0.35, 0.55, 0.8, 1.2, 1.8, 1e3}

const light = 0.01

// slice adds a candidate with a bounded amplitude, each slice of it as a normal
// with its own mean.
func (m *mixture) slice(c *candidate) {
	slope := c.cov / c.varB
	rest := max(c.varLeak-slope*c.cov, 0)
	move := slope * m.widen * math.Sqrt(c.varB)
	// Measure z from the nearer bound inwards.
	near, far, sign := c.low, c.high, 1.0
	if c.low < -c.high {
		near, far, sign = -c.high, -c.low, -1
	}
	from, edge := normalCDF(-near), normalDensity(near)
	scale := edge/from - near
	if !(from > 0) || !(scale > 0) {
		return
	}
	if move*move < mild*mild*rest {
		shift, spread := truncated(near, far)
		m.part(c.model, c.weight, c.leak+sign*move*shift, rest+move*move/(m.widen*m.widen)*spread)
		return
	}
	last := near
	stride := 1
	if c.weight < light {
		stride = 3
	}
	for i := stride; i < len(sliceEdges); i += stride {
		z := min(near+scale*sliceEdges[i], far)
		to, next := normalCDF(-z), normalDensity(z)
		if share := from - to; share > 0 {
			width := min(z-last, 1) * move / m.widen
			m.part(c.model, c.weight*share/c.mass, c.leak+sign*move*(edge-next)/share, rest+width*width/12)
		}
		if z == far {
			return
		}
		from, edge, last = to, next, z
	}
}

// mild is the ratio of what the amplitude does to the leak to the rest of its
// error below which a bounded amplitude leaves a normal.
const mild = 0.7

func (m *mixture) part(law model, weight, mean, variance float64) {
	if m.m < mostParts {
		sd := math.Sqrt(m.widen*m.widen*variance + m.round*m.round)
		m.parts[m.m] = component{weight, mean, 1 / max(sd, 1e-300), law}
		m.m++
		m.low, m.high = min(m.low, mean-tableEnd*sd), max(m.high, mean+tableEnd*sd)
	}
}

// below is the probability of a leak under x, and its density there.
func (m *mixture) below(x float64) (below, density float64) {
	for i := range m.m {
		p := &m.parts[i]
		b, d := m.normal.at((x - p.mean) * p.inv)
		below += p.weight * b
		density += p.weight * d * p.inv
	}
	return below, density
}

// enoughShare is how near a quantile is found, as a share of its tail.
const enoughShare = 3e-3

// quantile of the leak by Newton's steps from x, or by bisection where these
// leave the bracket.
func (m *mixture) quantile(q, x float64) float64 {
	lo, hi := m.low, m.high
	for range 30 {
		b, d := m.below(x)
		if math.Abs(b-q) < enoughShare*min(q, 1-q) {
			break
		}
		if b < q {
			lo = x
		} else {
			hi = x
		}
		next := x - (b-q)/d
		if !(next > lo && next < hi) {
			next = lo + (hi-lo)/2
		}
		x = next
	}
	return x
}
