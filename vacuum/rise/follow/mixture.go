package follow

import (
	"math"
)

// component is one normal part of what the readings say about the leak.
type component struct {
	weight, mean, sd float64
	tail             bool // with a slower source beside the one that fades
}

// mixture is what the readings say about the leak, per longest record, and how
// probable a source that fades or a settling pressure is.
type mixture struct {
	parts                        [Bank*nodesPerBank*2 + 2*Bank + 1]component
	n                            int
	fades, settles, total, occam float64
	power                        float64 // of fades, the part by a power law
	scale                        float64 // variance of unit weight
	widen, round                 float64
}

// weigh averages the candidates as package rise does: likelihood, the
// unit-information price of a term, a prior uniform in the logarithm of the
// time constant, amplitudes between their physical bounds.
func (f *Follower) weigh(c *candidates, phi float64) mixture {
	effective := max(float64(f.n)*(1-phi)/(1+phi), 2)
	k := f.parameters(c, effective)
	least := c.base.chi2
	if c.best >= 0 {
		least = min(least, c.nodes[c.best].chi2)
	}
	m := mixture{
		scale: least / max(float64(f.n-k), 1), occam: math.Sqrt(2 * math.Pi / max(effective, 2*math.Pi)),
		widen: extraWidth * student(max(effective-float64(k), 3)) / confidenceZ,
	}
	m.scale = max(m.scale, 1e-300)
	m.round = f.rounding(m.scale)
	m.add(math.Exp(-(c.base.chi2-least)/(2*m.scale)), c.base.beta[1], c.base.inv[1][1])
	fading := f.weighNodes(c, &m, least)
	f.weighTails(c, &m, fading)
	f.weighPower(c, &m, least)
	return m
}

func (m *mixture) add(weight, mean, variance float64) {
	m.total += weight
	m.parts[m.n] = component{weight: weight, mean: mean, sd: math.Hypot(m.widen*math.Sqrt(max(variance, 0)*m.scale), m.round)}
	m.n++
}

// rounding is the error of the leak, per longest record, that rounding leaves
// however many readings there are: step/√6 exp(-2π² (scatter/step)²) over the
// record.
func (f *Follower) rounding(scale float64) float64 {
	step, noise, share := float64(f.cfg.Resolution), float64(f.cfg.Noise), f.cfg.NoiseShare*f.p0
	variance := scale*(step*step/12+noise*noise+share*share) - step*step/12
	x := max(variance, 0) / (step * step)
	return step / math.Sqrt(6) * math.Exp(-2*math.Pi*math.Pi*x) * f.cfg.Longest.Seconds() / f.duration()
}

// weighNodes adds the one-source fits and answers the weight of fading ones.
func (f *Follower) weighNodes(c *candidates, m *mixture, least float64) (fading float64) {
	if c.n == 0 {
		return 0
	}
	// The prior covers the same range of time constants as the bank that is
	// used; the refined node stands for its cell.
	share := 1 / float64(c.n)
	half := math.Log(f.duration() / 2)
	for i := range c.n {
		node := &c.nodes[i]
		weight := share * m.occam * math.Exp(-(node.chi2-least)/(2*m.scale))
		if !(weight > 1e-12) {
			continue
		}
		w := m.truncated(weight, node, 0, f.saturation)
		fading += w
		m.fades += w
		if node.theta <= half {
			m.settles += m.truncated(priorSettling*weight, node, -max(f.p0, 1e-9), 0)
		}
	}
	return fading
}

// weighTails adds a slower source beside the best fading one; it counts
// whenever it fits as well. Its weight stands for all sources that are not
// among the candidates here.
func (f *Follower) weighTails(c *candidates, m *mixture, fading float64) {
	if c.best < 0 || c.nodes[c.best].b <= 0 || !(fading > 0) {
		return
	}
	g := &c.g
	best := &c.nodes[c.best]
	longest := math.Log(slowest * f.duration())
	var tails [Bank]fit
	n := 0
	for k := best.k + 1; k < Bank && f.logTau[k] <= longest; k++ {
		if f.logTau[k] < best.theta+0.3 {
			continue
		}
		if r, ok := g.withTail(best, k); ok && r.first > 0 {
			tails[n] = r
			n++
		}
	}
	for i := range n {
		gain := math.Exp(min((best.chi2-tails[i].chi2)/(2*m.scale), 300))
		gain = min(gain, max(1, gain*m.occam))
		from := m.n
		m.fades += m.truncated(tailWeight*fading*gain/float64(n), &tails[i], 0, f.saturation)
		if m.n > from {
			m.parts[from].tail = true
		}
	}
}

// weighPower adds power laws over a grid of t0 and three exponents.
func (f *Follower) weighPower(c *candidates, m *mixture, least float64) {
	g := &c.g
	var p pairs
	g.pairs(&p)
	lo, hi := math.Log(f.cfg.Interval.Seconds()/2), math.Log(f.duration()/2)
	const points = 6
	for _, n := range [...]float64{0.5, 1, 1.5} {
		for i := range points {
			t0 := math.Exp(lo + (hi-lo)*float64(i)/(points-1))
			r := c.base.with(g.power(&p, t0, n, slowest*f.duration()))
			if r.usable {
				weight := priorPower * m.occam / (3 * points) * math.Exp(-(r.chi2-least)/(2*m.scale))
				m.power += m.truncated(min(weight, 1e100), &r, 0, math.Inf(1))
			}
		}
	}
	m.fades += m.power
}

// truncated adds a fit whose amplitude lies between lo and hi, as the normal
// with the mean and variance that this leaves the leak. It answers the weight.
func (m *mixture) truncated(weight float64, r *fit, lo, hi float64) float64 {
	sb := m.widen * math.Sqrt(r.varB*m.scale)
	if !(sb > 0) {
		return 0
	}
	a, b := (lo-r.b)/sb, (hi-r.b)/sb
	mass := normalCDF(b) - normalCDF(a)
	if !(mass > 1e-9) {
		return 0
	}
	shift := (density(a) - density(b)) / mass
	spread := 1 + (edge(a)-edge(b))/mass - shift*shift
	slope := r.cov / r.varB
	mean := r.leak + slope*sb*shift
	variance := r.varL + slope*r.cov*(max(spread, 0)-1)
	m.add(weight*mass, mean, variance)
	return weight * mass
}

func density(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }

func edge(z float64) float64 {
	if !(math.Abs(z) < 38) {
		return 0
	}
	return z * density(z)
}

func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// student is the 97.5 % quantile of Student's t with nu degrees of freedom, at
// least 3, to 1 % (Cornish-Fisher expansion, Abramowitz and Stegun 26.7.5).
func student(nu float64) float64 {
	const z = confidenceZ
	g1 := (z*z*z + z) / 4
	g2 := (5*math.Pow(z, 5) + 16*z*z*z + 3*z) / 96
	g3 := (3*math.Pow(z, 7) + 19*math.Pow(z, 5) + 17*z*z*z - 15*z) / 384
	return z + g1/nu + g2/(nu*nu) + g3/(nu*nu*nu)
}

// prune drops parts below a thousandth of the weight and makes the rest add up
// to 1.
func (m *mixture) prune() {
	kept, sum := 0, 0.0
	for i := range m.n {
		if p := m.parts[i]; p.weight > 1e-3*m.total {
			m.parts[kept] = p
			kept++
			sum += p.weight
		}
	}
	m.n = kept
	for i := range kept {
		m.parts[i].weight /= sum
	}
}

// level takes the extra weight of the slower sources out again, which belongs
// to the bounds and not to the best value.
func (m *mixture) level() {
	sum := 0.0
	for i := range m.n {
		if m.parts[i].tail {
			m.parts[i].weight /= tailWeight
		}
		sum += m.parts[i].weight
	}
	for i := range m.n {
		m.parts[i].weight /= sum
	}
}

// below is the probability of a leak under x.
func (m *mixture) below(x float64) float64 {
	sum := 0.0
	for i := range m.n {
		p := &m.parts[i]
		sum += p.weight * normalCDF((x-p.mean)/p.sd)
	}
	return sum
}

// quantile of the leak, by bisection.
func (m *mixture) quantile(q float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range m.n {
		p := &m.parts[i]
		lo, hi = min(lo, p.mean-6*p.sd), max(hi, p.mean+6*p.sd)
	}
	for range 26 {
		mid := lo + (hi-lo)/2
		if m.below(mid) < q {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo + (hi-lo)/2
}
