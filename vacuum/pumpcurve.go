package vacuum

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"

	"example.com/drydown/units"
)

// SpeedPoint is one measured point of a pump: its volume flow, m³/s, at an inlet
// pressure, Pa.
type SpeedPoint struct {
	Pressure units.Pressure
	Speed    units.VolumeFlow
}

// SpeedCurve is the volume flow of a pump against its inlet pressure as
// measured, with the gas ballast closed. Between the points it follows a cubic
// in the logarithm of the pressure that rises and falls only where the points do
// (F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300). It
// does not change once made and is safe for concurrent use. The zero SpeedCurve is
// empty and good for nothing.
type SpeedCurve struct {
	law         interp.FritschButland
	least, most float64 // Pa
}

// NewSpeedCurve makes a curve from at least two points. It is an error, which
// names the point, when a pressure is not 1e-3 Pa to 1 MPa and above the one
// before by a millionth of it, when a speed is not above zero, or when the gas pumped per time, p·S,
// falls from one pressure to a higher one: then two pressures would answer to
// one load.
func NewSpeedCurve(points ...SpeedPoint) (*SpeedCurve, error) {
	const fn = "vacuum.NewSpeedCurve"
	if len(points) < 2 {
		return nil, fmt.Errorf("%s: %d points, accepted 2 or more: %w", fn, len(points), units.ErrOutOfRange)
	}
	x, y := make([]float64, len(points)), make([]float64, len(points))
	for i, p := range points {
		err := checkBounds(fn, bound{"Pressure", float64(p.Pressure), 1e-3, 1e6, "Pa"}, bound{"Speed", float64(p.Speed), 1e-9, 1e3, "m³/s"})
		if err != nil {
			return nil, fmt.Errorf("point %d: %w", i+1, err)
		}
		if i > 0 && p.Pressure < points[i-1].Pressure*(1+1e-6) {
			return nil, fmt.Errorf("point %d: %s: Pressure = %.9g Pa, accepted above %.9g Pa, that of the point before: %w",
				i+1, fn, float64(p.Pressure), float64(points[i-1].Pressure), units.ErrOutOfRange)
		}
		x[i], y[i] = math.Log(float64(p.Pressure)), float64(p.Speed)
	}
	c := &SpeedCurve{least: float64(points[0].Pressure), most: float64(points[len(points)-1].Pressure)}
	if err := c.law.Fit(x, y); err != nil {
		return nil, fmt.Errorf("%s: %w", fn, err)
	}
	return c, c.checkLoad(fn, x)
}

// checkLoad looks for a falling p·S: with z = ln p it rises where g = S + dS/dz
// is above zero, and g is one cubic between two points.
func (c *SpeedCurve) checkLoad(fn string, x []float64) error {
	for i := 1; i < len(x); i++ {
		h := x[i] - x[i-1]
		y0, y1 := c.law.Predict(x[i-1]), c.law.Predict(x[i])
		m0, m1 := h*c.law.PredictDerivative(x[i-1]), h*c.law.PredictDerivative(x[i])
		c2, c3 := 3*(y1-y0)-2*m0-m1, 2*(y0-y1)+m0+m1 // S = y0 + m0·u + c2·u² + c3·u³
		g := [4]float64{y0 + m0/h, m0 + 2*c2/h, c2 + 3*c3/h, c3}
		for _, u := range [4]float64{0, 1, turn(g, 1), turn(g, -1)} {
			if !(g[0]+u*(g[1]+u*(g[2]+u*g[3])) > 0) {
				return fmt.Errorf("%s: point %d: the gas pumped per time falls towards it, near %.4g Pa: %w",
					fn, i+1, math.Exp(x[i-1]+u*h), units.ErrOutOfRange)
			}
		}
	}
	return nil
}

// turn is where the cubic g turns, of its two places the one with the given
// sign of the root, brought into 0 to 1.
func turn(g [4]float64, sign float64) float64 {
	a, b, c := 3*g[3], 2*g[2], g[1]
	d := b*b - 4*a*c
	if !(d > 0) {
		return 0
	}
	q := -(b + math.Copysign(math.Sqrt(d), b)) / 2 // without cancellation
	u := q / a
	if sign < 0 {
		u = c / q
	}
	if !(u > 0 && u < 1) {
		return 0
	}
	return u
}

// empty is true of a curve that NewSpeedCurve did not make.
func (c *SpeedCurve) empty() bool { return c.least == 0 }

// Range is the span of inlet pressures, Pa, that the points cover.
func (c *SpeedCurve) Range() (least, most units.Pressure) {
	return units.Pressure(c.least), units.Pressure(c.most)
}

// Speed is the volume flow at inlet pressure p, m³/s. Outside Range the error
// is a RangeError: nothing is held or extrapolated.
func (c *SpeedCurve) Speed(p units.Pressure) (units.VolumeFlow, error) {
	if c.empty() {
		return 0, fmt.Errorf("vacuum.SpeedCurve.Speed: the curve is empty; make it with NewSpeedCurve")
	}
	if err := units.CheckRange("vacuum.SpeedCurve.Speed", "p", float64(p), c.least, c.most, "Pa"); err != nil {
		return 0, err
	}
	return units.VolumeFlow(c.law.Predict(math.Log(float64(p)))), nil
}

// FreeAirCurve is a curve from the two numbers on a name plate: the
// displacement, which the pump reaches at some kilopascals, and the smaller
// free-air rating at 101325 Pa, where the outlet valves choke it. The rest is
// common practice: full displacement from 100 to 3000 Pa. Its own blank-off the
// pump keeps.
func FreeAirCurve(displacement, freeAir units.VolumeFlow) (*SpeedCurve, error) {
	const fn = "vacuum.FreeAirCurve"
	err := checkBounds(fn, bound{"displacement", float64(displacement), 1e-9, 1e3, "m³/s"},
		bound{"freeAir", float64(freeAir), 0.3 * float64(displacement), float64(displacement), "m³/s"})
	if err != nil {
		return nil, err
	}
	return NewSpeedCurve(SpeedPoint{100, displacement}, SpeedPoint{3000, displacement}, SpeedPoint{units.Atmosphere, freeAir})
}

// displacement is what the pump sweeps, m³/s, at inlet pressure p in Pa, and its
// derivative by p. Measured speeds are net of what comes back, so that below
// and above the points of a curve the swept volume goes on as at its ends.
func (l *pumpLaw) displacement(p float64) (s, slope float64) {
	if l.curve == nil {
		return l.speed, 0
	}
	at := math.Min(math.Max(p, l.curve.least), l.curve.most)
	z := math.Log(at)
	back := at / (at - l.dryLow)
	s = l.curve.law.Predict(z) * back
	if at == p {
		slope = l.curve.law.PredictDerivative(z)/at*back - s*l.dryLow/(at*(at-l.dryLow))
	}
	return s, slope
}
