package vacuum

import "math"

// Reynolds numbers between which laminar changes to turbulent friction.
const (
	reynoldsLaminar   = 2300
	reynoldsTurbulent = 4000
)

// Friction over that of laminar flow: Blasius's 0.3164/Re^(1/4) against 64/Re
// from 4000 up, and from 2300, where sources differ, the polynomial that meets
// both ends in value, slope and curvature, for which an integrator would pay:
// 1 + u³·(excess3 + excess4·u + excess5·u²) with u from 0 to 1.
const (
	blasius       = 0.3164 / 64           // times Re^(3/4)
	excessAtTop   = 2.486574607198005 - 1 // blasius·4000^(3/4) - 1
	reynoldsWidth = reynoldsTurbulent - reynoldsLaminar
	excessSlope   = 0.75 * (excessAtTop + 1) / reynoldsTurbulent * reynoldsWidth
	excessBend    = -0.25 * excessSlope / reynoldsTurbulent * reynoldsWidth
	excess3       = 10*excessAtTop - 4*excessSlope + excessBend/2
	excess4       = -15*excessAtTop + 7*excessSlope - excessBend
	excess5       = 6*excessAtTop - 3*excessSlope + excessBend/2
)

// excessFriction is the turbulent over the laminar friction factor, less one,
// and its derivative by Re.
func excessFriction(re float64) (e, slope float64) {
	switch {
	case re <= reynoldsLaminar:
		return 0, 0
	case re <= reynoldsTurbulent:
		u := (re - reynoldsLaminar) / reynoldsWidth
		return u * u * u * (excess3 + u*(excess4+u*excess5)),
			u * u / reynoldsWidth * (3*excess3 + u*(4*excess4+u*5*excess5))
	}
	root := math.Sqrt(re)
	phi := blasius * root * math.Sqrt(root)
	return phi - 1, 0.75 * phi / re
}

// turbulence is what a law needs of a segment's friction, all of it as functions
// of m = n·M/µ: Re is m times the segment's reynolds, so that one root of m
// serves all segments.
type turbulence struct {
	laminar, turbulent float64 // m at which the kind of flow changes, never without length
	blasius            float64 // times m^(3/4), the share of the resistance that it multiplies included
}

// never is more than any m.
const never = 1e100

// turbulence prepares it.
func (s *segmentLaw) turbulence() turbulence {
	if s.tube == 0 {
		return turbulence{laminar: never, turbulent: never}
	}
	root := math.Sqrt(s.reynolds)
	return turbulence{reynoldsLaminar / s.reynolds, reynoldsTurbulent / s.reynolds, s.tube * blasius * root * math.Sqrt(root)}
}

// excess is the excess friction at m, of which m34 is the power 3/4, as a share
// of the segment's resistance, with its derivative by the logarithm of m.
func (s *segmentLaw) excess(m, m34 float64) (e, slope float64) {
	switch {
	case m < s.friction.laminar:
		return 0, 0
	case m < s.friction.turbulent:
		e, slope = excessFriction(m * s.reynolds)
		return s.tube * e, s.tube * m * s.reynolds * slope
	}
	phi := s.friction.blasius * m34
	return phi - s.tube, 0.75 * phi
}

// friction is the pressure that a flow m takes, times M/µ, as long as m is
// between from and to:
//
//	m·(constant + blasius·m^(3/4) + inertia·m + Σ bent[i]·(m - centre)^i)
//
// bent is the polynomial of the segments between laminar and turbulent flow, where
// there are any.
type friction struct {
	from, to                   float64
	constant, blasius, inertia float64
	bends                      bool
	centre                     float64
	bent                       [6]float64
}

// frictionAt sums it over the segments, each by the kind of flow that it has at
// m, given the resistances in force and their sum, and h over M/µ.
func (l *law) frictionAt(m, r, h float64, f *friction) {
	*f = friction{to: math.Inf(1), constant: r, inertia: h, centre: m}
	for i := range l.segments {
		s, r := &l.segments[i], l.resist[i]
		switch {
		case m < s.friction.laminar:
			f.to = min(f.to, s.friction.laminar)
		case m < s.friction.turbulent:
			f.from, f.to = max(f.from, s.friction.laminar), min(f.to, s.friction.turbulent)
			f.bend(r*s.tube, m*s.reynolds, s.reynolds)
		default:
			f.from = max(f.from, s.friction.turbulent)
			f.constant -= r * s.tube
			f.blasius += r * s.friction.blasius
		}
	}
}

// bend adds k times the polynomial about re, the Reynolds number at the centre.
func (f *friction) bend(k, re, perM float64) {
	u, du := (re-reynoldsLaminar)/reynoldsWidth, perM/reynoldsWidth
	f.bends = true
	for i, c := range [...]float64{
		u * u * u * (excess3 + u*(excess4+u*excess5)),
		u * u * (3*excess3 + u*(4*excess4+u*5*excess5)),
		u * (3*excess3 + u*(6*excess4+u*10*excess5)),
		excess3 + u*(4*excess4+u*10*excess5),
		excess4 + u*5*excess5,
		excess5,
	} {
		f.bent[i] += k * c
		k *= du
	}
}

// at is the value at m = q⁴ with q times its first and q² times its second
// derivative by q, without what is bent.
func (f *friction) at(q float64) (v, first, second float64) {
	square := q * q
	m := square * square
	a, b, c := m*f.constant, m*(square*q*f.blasius), m*m*f.inertia
	return a + b + c, 4*a + 7*b + 8*c, 12*a + 42*b + 56*c
}

// bentAt is what is bent.
func (f *friction) bentAt(m float64) (v, first, second float64) {
	c, x := &f.bent, m-f.centre
	p0 := c[0] + x*(c[1]+x*(c[2]+x*(c[3]+x*(c[4]+x*c[5]))))
	p1 := m * (c[1] + x*(2*c[2]+x*(3*c[3]+x*(4*c[4]+x*5*c[5]))))
	p2 := m * m * (2*c[2] + x*(6*c[3]+x*(12*c[4]+x*20*c[5])))
	return m * p0, m * 4 * (p0 + p1), m * (12*p0 + 44*p1 + 16*p2)
}

// turbulent solves Δp·perMole = m·(r + Σ r_i·e_i + m·h) for the flow m = n·M/µ,
// which is above critical, by Halley's method inside a bracket, in q = m^(1/4),
// in which there are powers only. goal is the left-hand side; h is that over M/µ.
func (l *law) turbulent(r, h, goal float64) float64 {
	ratio := goal / (l.critical * (r + l.critical*h)) // to where turbulence begins
	low, top := 0.0, 2*l.criticalRoot*ratio
	q := l.criticalRoot * roughEighthRoot(ratio)
	m := q * q * (q * q)
	var f friction
	for range 60 {
		if !(f.from <= m && m <= f.to) {
			l.frictionAt(m, r, h, &f)
		}
		v, first, second := f.at(q)
		sure := 5e-6 // Halley triples the digits: a step of so much leaves 1e-15
		if f.bends {
			v0, v1, v2 := f.bentAt(m)
			v, first, second, sure = v+v0, first+v1, second+v2, 1e-6
		}
		over := v - goal
		if over > 0 {
			top = q
		} else {
			low = q
		}
		next := q - 2*q*over*first/(2*first*first-over*second)
		step := math.Abs(next - q)
		if step > sure*q && !(next > low && next < top) {
			next = (low + top) / 2
		}
		q, m = next, next*next*(next*next)
		if step <= 1e-9*q || step <= sure*q && f.from <= m && m <= f.to {
			break
		}
	}
	return m
}

// roughEighthRoot is the root of x >= 1 to 6 %: the bits of a float64 are its
// logarithm, nearly. The pressure goes with powers 7 and 8 of q.
func roughEighthRoot(x float64) float64 {
	const seven = 7 * (0x3ff << 52) / 8 // seven eighths of the bits of 1
	return math.Float64frombits(math.Float64bits(x)/8 + seven)
}
