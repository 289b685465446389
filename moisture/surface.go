package moisture

import (
	"math"

	"example.com/drydown/units"
)

// surface carries vapour from water through two steps in series: molecules
// leaving the surface, j = kinetic (psat - pi), and diffusion through a gas film
// with Stefan flow, j = film ln((p - pv)/(p - pi)); j in kg/(m² s), pi the
// pressure at the surface.
type surface struct {
	kinetic float64 // kg/(m² s Pa)
	film    float64 // M D p/(delta R T), kg/(m² s)
}

// kineticCoefficient is the Hertz-Knudsen coefficient with Schrage's factor for
// the bulk flow, 2 a/(2 - a)/sqrt(2 pi R T), from the evaporation coefficient a
// and the water temperature.
func kineticCoefficient(evaporation, t float64) float64 {
	return 2 * evaporation / (2 - evaporation) / math.Sqrt(2*math.Pi*GasConstantWater*t)
}

// filmCoefficient is M D p/(delta R T) for water vapour in the dry gas.
func (g dryGas) filmCoefficient(thickness float64) float64 {
	return float64(MolarMass) * g.diffusion() / (thickness * molarGas * g.temperature)
}

const molarGas = units.GasConstant // J/(mol K)

// mostEnriched is how many times as much dry gas at the surface as far from it,
// (p - pi)/(p - pv), a condensing film is believed to gather. It then holds what 145
// times its volume hold elsewhere, (mostEnriched - 1)/ln mostEnriched, which is about the
// node of a puddle; what it holds is not taken out of the node. Without a bound,
// condensation would hang on the logarithm of what dry gas is left, far below any
// tolerance, and jump where the last of it goes. Where vapour has swept a node all but
// clean, ten times the bound raises the pressure there by 2 to 5 %.
const (
	mostEnriched = 1e3
	logMost      = 3 * math.Ln10
)

// enrichment is (p - pi)/(p - pv) at q = j/film, and how fast it grows as q falls:
// exp(-q) up to mostEnriched and its tangent from there on, so that the film's
// resistance vanishes in proportion to the dry gas.
func enrichment(q float64) (times, slope float64) {
	if q < -logMost {
		return mostEnriched * (1 - logMost - q), mostEnriched
	}
	e := math.Exp(-q)
	return e, e
}

// flux returns j for saturation pressure ps, vapour pressure pv and pressure of the
// dry gas in Pa, negative when vapour condenses. In units of c = film/kinetic, dry
// gas a = dry/c and drive b = (ps - pv)/c, q = j/film solves
//
//	q + a (1 - enrichment(q)) = b.
//
// Without dry gas the film vanishes and q = b, which also covers boiling, ps > p.
func (s surface) flux(ps, pv, dry float64) float64 {
	c := s.film / s.kinetic
	a, b := dry/c, (ps-pv)/c
	switch {
	case a == 0:
		return s.film * b
	case b < -logMost-a*(mostEnriched-1): // on the tangent
		return s.film * (b - a*(1+mostEnriched*(logMost-1))) / (1 + a*mostEnriched)
	}
	return s.film * seriesFlux(a, b)
}

// seriesFlux solves q + a (1 - exp(-q)) = b. Where the film matters the root is q =
// omega(ln a + a - b) - (a - b), Wright's omega function, and is taken as it is unless
// that difference costs digits. Elsewhere, and from the series for small q, Halley's
// steps follow, each of which leaves a twelfth of its cube at most: one is nearly
// always enough for 1e-11 of q.
func seriesFlux(a, b float64) float64 {
	linear, share := b/(1+a), a/(1+a)
	q := linear
	switch {
	case math.Abs(linear) < 0.1:
		q = linear * (1 + share*linear*(0.5+(share/2-1.0/6)*linear))
	case a >= 0.2 || b <= -1:
		w, off := wrightOmega(math.Log(a) + a - b)
		q = w - (a - b)
		if math.Abs(off) < 3e-3 && math.Abs(a-b) < 1e3*math.Abs(q) {
			return q
		}
	}
	for range 6 {
		e := math.Exp(-q)
		slope := 1 + a*e
		newton := (q - b + a*(1-e)) / slope
		step := newton / (1 + newton*a*e/(2*slope))
		q -= step
		if math.Abs(step) < 2e-4 {
			break
		}
	}
	return q
}

// slope is the flux per pressure difference, kg/(m² s Pa), while both steps are
// linear, with dry Pa of dry gas.
func (s surface) slope(dry float64) float64 {
	return 1 / (1/s.kinetic + dry/s.film)
}

// wrightOmega solves w + ln w = x: a starting value within 10 % and
// one step of fourth order (F. N. Fritsch, R. E. Shafer, W. P. Crowley, Comm.
// ACM 16 (1973) 123). It also returns by how much ln w was off before that step.
func wrightOmega(x float64) (w, off float64) {
	switch {
	case x < 1: // Padé form of Lambert's function at z = exp(x)
		z := math.Exp(x)
		if z < 1e-9 {
			return z - z*z, 0
		}
		w = z * (1 + 4.0/3*z) / (1 + z*(7.0/3+5.0/6*z))
	case x < 3: // Taylor series about x = 1
		y := x - 1
		w = 1 + y/2 + y*y/16 - y*y*y/192
	default:
		l := math.Log(x)
		w = x - l + l/x
	}
	off = x - w - math.Log(w)
	w1 := 1 + w
	b := w1 * (w1 + 2.0/3*off)
	return w * (1 + off/w1*(b-off/2)/(b-off)), off
}
