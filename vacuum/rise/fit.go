package rise

import (
	"math"
	"slices"
)

// fits holds every candidate fitted to one record with one noise model.
type fits struct {
	sys    *system
	steady solution
	coarse []point // vapour over the grid of time constants
	cols   []wcol  // their columns
	vapour point   // refined
	two    point
	power  point
	// powerNodes are the power law's coarse grid.
	powerNodes []solution
	spectrum   *spectrum
	mixture    point   // of any sources that fade
	has        [7]bool // by Model, whether the refined point exists
}

// grids keeps the raw columns of the coarse grids, which do not change with
// the noise model.
type grids struct {
	tau   []float64 // θ of the vapour grid
	raw   [][]float64
	theta [][2]float64 // power-law grid
	power [][]float64
	ends  []float64 // of sources of constant rate, s
	ramps [][]float64
}

// gridRatio is the ratio of neighbouring time constants on the coarse grid.
const gridRatio = 1.45

func newGrids(s *system) *grids {
	g := &grids{}
	f := s.vapourFamily()
	n := int(math.Ceil((f.hi[0]-f.lo[0])/math.Log(gridRatio))) + 1
	for i := range n {
		theta := f.lo[0] + (f.hi[0]-f.lo[0])*float64(i)/float64(n-1)
		col := make([]float64, len(s.t))
		s.vapourColumn(col, math.Exp(theta))
		g.tau, g.raw = append(g.tau, theta), append(g.raw, col)
	}
	p := s.powerFamily()
	for _, exponent := range []float64{0.5, 1, 1.5} {
		const points = 6
		for i := range points {
			theta := [2]float64{p.lo[0] + (p.hi[0]-p.lo[0])*float64(i)/(points-1), exponent}
			col := make([]float64, len(s.t))
			s.column(&p, col, theta, 0)
			g.theta, g.power = append(g.theta, theta), append(g.power, col)
		}
	}
	for end := latestEnd * s.dur; end > s.step; end *= rampRatio {
		g.ends, g.ramps = append(g.ends, end), append(g.ramps, s.ramp(end))
	}
	return g
}

// fitAll fits every candidate, starting from the grids.
func fitAll(s *system, g *grids) *fits {
	s.whiten()
	f := &fits{sys: s}
	f.steady, f.has[Steady] = s.solve()
	f.fitVapour(g)
	f.fitTwoVapours(g)
	f.fitPower(g, math.Inf(1))
	f.fitMixture(g)
	return f
}

// follow refits the candidates after a change of the noise model, starting
// from where they are.
func (f *fits) follow() {
	s := f.sys
	s.whiten()
	f.steady, f.has[Steady] = s.solve()
	for _, p := range []*point{&f.vapour, &f.two, &f.power, &f.mixture} {
		if f.has[p.model] && p.sol.k > 0 {
			s.refit(p, 2)
			f.has[p.model] = p.model == Vapour || p.model == mixture || positive(p)
		}
	}
}

// positive reports whether all amplitudes are.
func positive(p *point) bool {
	for k := range p.sol.k - 2 {
		if p.term(k) <= 0 {
			return false
		}
	}
	return true
}

// again fits every candidate once more, from the grids or from where an
// earlier fit ended, whichever is better.
func (f *fits) again(g *grids) *fits {
	s := f.sys
	s.whiten()
	next := &fits{sys: s}
	next.steady, next.has[Steady] = s.solve()
	next.fitVapour(g)
	if !f.has[TwoVapours] {
		next.fitTwoVapours(g)
	}
	known := math.Inf(1)
	if f.has[PowerLaw] {
		known = f.power.sol.chi2
	}
	next.fitPower(g, known)
	for _, pair := range [][2]*point{{&next.vapour, &f.vapour}, {&next.two, &f.two}, {&next.power, &f.power}} {
		fresh, old := pair[0], pair[1]
		if old.sol.k == 0 || !f.has[old.model] {
			continue
		}
		p := *old
		if f.sys.refit(&p, 3); !next.has[p.model] || p.sol.chi2 < fresh.sol.chi2 {
			*fresh = p
			next.has[p.model] = p.model == Vapour || positive(&p)
		}
	}
	next.fitMixture(g)
	return next
}

func (f *fits) fitVapour(g *grids) {
	s := f.sys
	f.cols = make([]wcol, len(g.raw))
	best := -1
	for i, raw := range g.raw {
		f.cols[i] = s.newCol(raw)
		p := point{model: Vapour, theta: [2]float64{g.tau[i]}}
		sol, ok := s.solve(&f.cols[i])
		p.sol = sol
		if !ok {
			p.sol.chi2 = math.Inf(1)
		}
		f.coarse = append(f.coarse, p)
		if ok && (best < 0 || sol.chi2 < f.coarse[best].sol.chi2) {
			best = i
		}
	}
	if best >= 0 {
		fam := s.vapourFamily()
		f.vapour, f.has[Vapour] = s.refine(&fam, f.coarse[best].theta, 6)
	}
}

func (f *fits) fitTwoVapours(g *grids) {
	s := f.sys
	found := false
	var best point
	for i := 0; i < len(f.cols); i += 2 { // every second one will do to start from
		for j := i + 2; j < len(f.cols); j += 2 {
			sol, ok := s.solve(&f.cols[i], &f.cols[j])
			if ok && sol.beta[2] > 0 && sol.beta[3] > 0 && (!found || sol.chi2 < best.sol.chi2) {
				found = true
				best = point{theta: [2]float64{g.tau[i], g.tau[j]}, sol: sol}
			}
		}
	}
	if !found {
		return
	}
	fam := s.twoVapoursFamily()
	f.two, f.has[TwoVapours] = s.refine(&fam, best.theta, 6)
	f.has[TwoVapours] = f.has[TwoVapours] && positive(&f.two)
}

// fitPower fits the power law from its grid, refined where that is better than
// least.
func (f *fits) fitPower(g *grids, least float64) {
	s := f.sys
	found := false
	var best point
	c := wcol{w: make([]float64, len(s.t))}
	for i, raw := range g.power {
		s.fill(&c, raw)
		sol, ok := s.solve(&c)
		if ok {
			f.powerNodes = append(f.powerNodes, sol)
		}
		if ok && sol.beta[2] > 0 && (!found || sol.chi2 < best.sol.chi2) {
			found = true
			best = point{theta: g.theta[i], sol: sol}
		}
	}
	if !found || !(best.sol.chi2 < least) {
		return
	}
	fam := s.powerFamily()
	f.power, f.has[PowerLaw] = s.refine(&fam, best.theta, 6)
	f.has[PowerLaw] = f.has[PowerLaw] && positive(&f.power)
}

// points lists the refined candidates.
func (f *fits) points() []point {
	out := []point{{model: Steady, sol: f.steady}}
	for _, p := range []point{f.vapour, f.two, f.power} {
		if f.has[p.model] && p.sol.k > 0 {
			out = append(out, p)
		}
	}
	return out
}

// parameters counts what a model fits, time constants included.
func parameters(m Model) int {
	switch m {
	case Vapour, Settling:
		return 4
	case TwoVapours:
		return 6
	case PowerLaw:
		return 5
	}
	return 2
}

// parameters counts what a point fits; an atom of a mixture has an amount and a
// place.
func (p *point) parameters() int {
	if p.model == mixture {
		return mixtureParameters(p.sol.k - 2)
	}
	return parameters(p.model)
}

// best is the candidate with the lowest Bayesian information criterion,
// n ln χ² + k ln n_eff (Schwarz 1978, from memory).
func (f *fits) best() point { return f.leastOf(f.points()) }

// described is the same with the mixture among the candidates: what the noise is
// learnt from.
func (f *fits) described() point { return f.leastOf(f.describing()) }

func (f *fits) describing() []point {
	points := f.points()
	if f.has[mixture] {
		points = append(points, f.mixture)
	}
	return points
}

func (f *fits) leastOf(points []point) point {
	return slices.MinFunc(points, func(a, b point) int {
		if f.score(&a) < f.score(&b) {
			return -1
		}
		return 1
	})
}

func (f *fits) score(p *point) float64 { return f.criterion(p.sol.chi2, p.parameters()) }

func (f *fits) criterion(chi2 float64, params int) float64 {
	n := float64(len(f.sys.t))
	return n*math.Log(chi2+1e-12*n) + float64(params)*math.Log(max(f.sys.effective(), 3))
}

// effective is the number of independent samples, n (1-φ)/(1+φ) for lag-1
// noise (Bayley and Hammersley 1946, from memory).
func (s *system) effective() float64 {
	return float64(len(s.t)) * (1 - s.phi) / (1 + s.phi)
}

// residuals of a fitted point in Pa, less the most probable drift.
func (s *system) residuals(p *point) []float64 {
	out := s.curve(p)
	for i := range out {
		out[i] = s.y[i] - out[i]
	}
	if d := s.driftOf(out); d != 0 {
		for i := range out {
			out[i] -= d * s.drift[i]
		}
	}
	return out
}

// curve is the fitted pressure of a point, in the terms of y.
func (s *system) curve(p *point) []float64 {
	out := make([]float64, len(s.t))
	for i := range out {
		out[i] = p.sol.beta[0] + p.sol.beta[1]*s.leak[i]
	}
	for k, col := range s.rawColumns(p) {
		for i := range out {
			out[i] += p.term(k) * col[i]
		}
	}
	return out
}
