package vacuum

import (
	"math"

	"example.com/drydown/units"
)

// law is a Passage prepared for one mixture at one temperature. It is the hot
// path of a simulation: it neither allocates nor calls an interface. It has
// scratch space, so each user needs its own.
//
// Pure gas. Every segment resists in three ways that act in series:
//
//	Δp = n·Σ r_i·(1 + e_i) + n²·Σ h_i
//
// r_i is the laminar-to-molecular resistance Δp/n0 of the linearised kinetic
// solution (S-model), integrated over the finite pressure difference, with a
// Sampson end correction in its viscous part and the exact transmission
// probability in its molecular part. e_i is the excess friction of turbulence.
// h_i limits the flow to what inertia admits: an isentropic nozzle, its
// outflow written as the ellipse of ISO 6358, faded out towards molecular flow.
type law struct {
	mix      *mixture
	rt       float64 // Rg·T, J/mol
	segments []segmentLaw
	resist   []float64 // scratch: r_i in force
	// linear is the pressure difference, as a share of the pressure, below which
	// inertia lets the flow go in proportion to it. A simulation sets it to its
	// relative tolerance: between volumes joined by a wide opening, differences
	// beneath that are noise, and the root of noise is not. Zero is the law.
	linear float64

	molecular    float64 // Σ 1/(area·W·/(2√π)): resistance per most probable speed, 1/m²
	diffusive    float64 // Σ (L + πR/2)/area, 1/m
	critical     float64 // n·M/µ at which the first segment leaves laminar flow
	criticalRoot float64 // its root of order 4

	last point
}

// point is a state with the flow that the law gave for it and what that was
// made of. An integrator asks for the derivatives where it last asked for the
// rates. The zero value stands for no state.
type point struct {
	p1, p2           float64             // pressures, p1 >= p2, p1 > 0
	x                [MaxSpecies]float64 // mean composition of two gases or more
	blend            blend               // of it
	r, h, perMole, n float64
}

// segmentLaw holds a segment's geometry as the law uses it.
type segmentLaw struct {
	radius   float64 // m
	viscous  float64 // πR⁴/(16·Lv), times (p1+p2)/µ
	rarefied float64 // 3πR²W/16, times v0 and the mean of s
	long     float64 // W over the long tube's 8R/(3L): 0 for an orifice, 1 for a long tube
	free     float64 // rarefied times what s is without its terms, and
	bent     float64 // times the share of them that counts, see prepareSlip
	inertial float64 // 1/(area·Cd)², less at ends that run on
	tube     float64 // share of the resistance that turbulence multiplies
	reynolds float64 // 2/(πR), times n·M/µ
	friction turbulence
}

// leastPressure is taken for nothing, Pa: far below any vacuum, far above the
// smallest floats.
const leastPressure = 1e-100

// prepare sets the law for a checked passage and a mixture at t in K.
func (l *law) prepare(p Passage, gases *mixture, t float64) {
	*l = law{
		mix: gases.at(t), rt: units.GasConstant * t,
		segments: make([]segmentLaw, len(p)), resist: make([]float64, len(p)), critical: never,
	}
	for i := range p {
		s, area, ends := &l.segments[i], p[i].area(), p[i].ends()
		w := s.prepare(&p[i])
		l.critical = min(l.critical, s.friction.laminar)
		l.molecular += 2 * math.Sqrt(math.Pi) / (area * w)
		l.diffusive += (float64(p[i].Length) + ends*math.Pi*s.radius/2) / area
	}
	l.criticalRoot = math.Sqrt(math.Sqrt(l.critical))
}

// prepare sets the law of a segment and answers its transmission probability W.
func (s *segmentLaw) prepare(of *Segment) (w float64) {
	r, length := float64(of.Bore)/2, float64(of.Length)
	ends, area := of.ends(), of.area()
	w = 1 / (ends/transmission(length/r) + (1-ends)*3*length/(8*r))
	viscousLength := length + ends*sampson*r
	cd := area * of.discharge()
	*s = segmentLaw{
		radius:   r,
		viscous:  area * r * r / (16 * viscousLength),
		rarefied: 3 * area * w / 16,
		long:     w * 3 * length / (8 * r),
		inertial: ends / (cd * cd),
		tube:     length / viscousLength,
		reynolds: 2 / (math.Pi * r * of.count()),
	}
	s.prepareSlip()
	s.friction = s.turbulence()
	return w
}

// area of all bores side by side, m².
func (s *Segment) area() float64 {
	r := float64(s.Bore) / 2
	return math.Pi * r * r * s.count()
}

// own gives the law a mixture of its own, for setTemperature to change.
func (l *law) own() {
	own := *l.mix
	l.mix = &own
}

// setTemperature makes a law with a mixture of its own one at t in K. It
// allocates nothing.
func (l *law) setTemperature(t float64) {
	if l.mix.t != t {
		l.mix.prepare(t)
		l.rt = units.GasConstant * t
		l.last = point{}
	}
}

// sampson is the viscous end correction in radii: R. A. Sampson's flow through
// an aperture, d³·Δp/(24µ), as the length of tube with the same resistance.
const sampson = 3 * math.Pi / 8

// flow writes the flow of each species from side 1 to side 2 in mol/s, given
// the partial pressures in Pa, 0 or more, in the order of the mixture's gases.
// out must not alias p1 or p2; what is beyond the gases is set to 0.
//
// The total flow is that of a gas of the mean composition of both ends, so that
// it has no kink where it reverses. The split between species: x_i·n with the
// upstream composition, plus the difference in molecular drift, plus diffusion,
//
//	n_i = x_i·n + x_i·Δp·(C_i - ΣxC)/RT + C_i·B·p_down·(x_i1 - x_i2)/RT
//	1/C_i = 1/C_i(molecular) + 1/C_i(binary)          (Bosanquet)
//
// (ΣxC with the mean composition). With B = 1 it is exact in molecular flow,
// where each species goes by itself, and for diffusion at rest. B = Pe/(exp(Pe)
// - 1) is the exact solution of diffusion against a flow along a tube: a sweep
// keeps the air out. Labels of one gas have equal C_i, so that the terms beside
// x_i·n add up to nothing.
func (l *law) flow(p1, p2, out *[MaxSpecies]float64) {
	if len(l.mix.gases) == 1 {
		*out = [MaxSpecies]float64{l.single(p1[0], p2[0])}
		return
	}
	total1, total2 := l.sums(p1, p2)
	sign := 1.0
	if total2 > total1 {
		p1, p2, total1, total2, sign = p2, p1, total2, total1, -1
	}
	*out = [MaxSpecies]float64{}
	if !(total1 > leastPressure) {
		return
	}
	x := &l.last.x
	l.mean(p1, p2, total1+total2, x)
	n := l.total(x, total1, total2)
	l.species(p1, p2, x, total1, total2, n, sign, out)
}

// single is flow for one gas, which has no composition to mix.
func (l *law) single(p1, p2 float64) float64 {
	sign := 1.0
	if p2 > p1 {
		p1, p2, sign = p2, p1, -1
	}
	if !(p1 > leastPressure) {
		return 0
	}
	return sign * l.between(&l.mix.pure, p1, p2)
}

// sums are the total pressures at both sides.
func (l *law) sums(p1, p2 *[MaxSpecies]float64) (total1, total2 float64) {
	for i := range l.mix.gases {
		total1 += p1[i]
		total2 += p2[i]
	}
	return total1, total2
}

// mean writes the composition of both ends together, as mole fractions.
func (l *law) mean(p1, p2 *[MaxSpecies]float64, total float64, x *[MaxSpecies]float64) {
	perTotal := 1 / total
	for i := range l.mix.gases {
		x[i] = (p1[i] + p2[i]) * perTotal
	}
}

// total is the flow of the whole gas in mol/s at the mean mole fractions x and
// p1 >= p2, p1 > 0.
func (l *law) total(x *[MaxSpecies]float64, p1, p2 float64) float64 {
	if len(l.mix.gases) == 1 {
		return l.between(&l.mix.pure, p1, p2)
	}
	l.mix.mix(x, &l.last.blend)
	return l.between(&l.last.blend, p1, p2)
}

// between is the flow of a blend between p1 >= p2, p1 > 0, and keeps what it is
// made of.
func (l *law) between(b *blend, p1, p2 float64) float64 {
	at := &l.last
	at.p1, at.p2 = p1, p2
	at.r, at.h, at.perMole = l.coefficients(b, p1, p2)
	at.n = l.solve(at.r, at.h, at.perMole, p1, p2)
	return at.n
}

// solve is the flow between p1 >= p2.
func (l *law) solve(r, h, perMole, p1, p2 float64) float64 {
	dp, felt := p1-p2, l.felt(p1, p2)
	inert, goal := h*felt, dp*perMole
	if l.critical*(r*goal+l.critical*inert) < goal*goal {
		return l.turbulent(r, inert/goal, goal) / perMole
	}
	return 2 * dp / (r + math.Sqrt(r*r+4*inert))
}

// felt is the pressure difference that inertia goes by: that between the ends,
// but not less than the share linear of their mean.
func (l *law) felt(p1, p2 float64) float64 {
	if l.linear == 0 {
		return p1 - p2
	}
	return root2(p1-p2, l.linear*(p1+p2)/2)
}

// root2 is √(a² + b²), for sizes at which squares neither overflow nor vanish.
func root2(a, b float64) float64 { return math.Sqrt(a*a + b*b) }

// coefficients are Σ r_i and Σ h_i of a blend, and M/µ.
func (l *law) coefficients(b *blend, p1, p2 float64) (r, h, perMole float64) {
	perDelta, perViscosity := b.perDelta, b.perDelta*b.speed
	dense := (p1 + p2) * perViscosity
	for i := range l.segments {
		s := &l.segments[i]
		d1 := s.radius * p1 * perDelta
		d2 := s.radius * p2 * perDelta
		above, below := meanSlip(d1, d2)
		resist := l.rt * below / ((s.viscous*dense+s.free*b.speed)*below + s.bent*b.speed*above)
		l.resist[i] = resist
		r += resist
		h += s.inertial * d1 / (d1 + inertialDelta)
	}
	return r, h * b.nozzle(l.rt, p1, p2), b.molarMass * perViscosity
}

// nozzle is Δp·(A·Cd/n)² of an isentropic nozzle, with the ellipse for its
// outflow below choking; Δp is divided out so that nothing is 0/0 at Δp = 0.
func (b *blend) nozzle(rt, p1, p2 float64) float64 {
	above, below := p1-p2, p1*p1
	if p2 > b.ratio*p1 {
		d := 1 - b.ratio
		above, below = d*d, (1-2*b.ratio)*p1+p2
	}
	return b.molarMass * rt * above / (b.choke * below)
}

// prepareSlip sets what turns the mean of s into a conductance. What s loses
// against its molecular value as the gas gets denser is a matter of long tubes;
// an orifice has no Knudsen minimum. Between the two the loss goes with the share
// of the long tube in the molecular resistance, for want of a reference.
func (s *segmentLaw) prepareSlip() {
	s.free = s.rarefied * (slipFree + s.long*(slipFar-slipFree))
	s.bent = s.rarefied * s.long
}

// slipSlopes is the mean of s as it counts in the segment, with its derivatives
// by d1 and d2.
func (s *segmentLaw) slipSlopes(d1, d2 float64) (v, by1, by2 float64) {
	v, by1, by2 = meanSlipSlopes(d1, d2)
	return slipFree + s.long*(v-slipFree), s.long * by1, s.long * by2
}

// inertialDelta is the rarefaction parameter of the upstream gas at which half
// of the inertia counts. It makes an orifice into vacuum follow the rise from
// molecular to choked flow within about 5 % of kinetic calculations
// (F. Sharipov 2004, from memory).
const inertialDelta = 10
