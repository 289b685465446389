package vacuum

import (
	"math"

	"example.com/drydown/units"
)

// pumpLaw is a pump prepared for the hot path.
type pumpLaw struct {
	speed     float64     // displacement, m³/s, where there is no curve
	curve     *SpeedCurve // nil without
	dryLow    float64     // blank-off with the ballast closed, Pa, that the curve was measured with
	low       float64     // blank-off in force, Pa
	back      int         // species that comes back, -1 for none
	carried   float64     // vapour per mole of dry gas
	tolerance float64     // vapour pressure carried by the ballast, Pa; 0 when it is closed
	wet       bool        // the first species is water
	oil       oilLaw      // in force where the pump has an oil node
}

// prepare sets the law; back, wet and oil depend on the circuit.
func (p *Pump) prepare(ballast bool) pumpLaw {
	l := pumpLaw{
		speed: float64(p.Displacement), curve: p.Curve, dryLow: float64(p.BlankOff),
		low: float64(p.blankOff(ballast)), back: -1, carried: p.vapourPerGas(),
	}
	if ballast {
		l.tolerance = float64(p.VapourTolerance)
	}
	return l
}

// flow writes what passes the inlet in mol/s: through the exhaust by species
// into out[:ns], water into the oil into out[ns], and then what comes back into
// the node: the return gas, where there is one, and vapour from the oil, where
// there is an oil node and oil is not nil. None is negative. Where d is not nil,
// the derivatives by the partial pressures go there, that by the vapour pressure
// over the oil last.
func (l *pumpLaw) flow(n, oil *sysNode, ns int, out []float64, d *partSlopes) {
	swept, slope := l.swept(n)
	l.net(n, ns, swept, slope, out, d)
	out[ns] = 0
	if d != nil {
		d[ns] = [2 * MaxSpecies]float64{}
	}
	if !l.wet {
		return
	}
	l.keep(ns, swept, slope, out, d)
	if oil != nil {
		at, over := ns+1, l.oil.approach*math.Min(oil.partial[0], l.oil.saturation)
		if l.back >= 0 {
			at++
		}
		out[at] = swept * over
		if d != nil {
			l.releaseSlopes(oil, ns, swept, slope, over, &d[at])
		}
	}
}

// swept is the displacement in mol/(s·Pa) of the gas at the inlet, and its
// derivative by the pressure there.
func (l *pumpLaw) swept(n *sysNode) (s, slope float64) {
	s, slope = l.displacement(n.total)
	perRT := 1 / (units.GasConstant * n.temp)
	return s * perRT, slope * perRT
}

// net writes what leaves and what comes back by species, all of it through the
// exhaust so far.
func (l *pumpLaw) net(n *sysNode, ns int, swept, slope float64, out []float64, d *partSlopes) {
	f, df := swept, slope
	if l.back < 0 { // a check valve: nothing comes back
		share, bend := valved(l.low, n.total)
		f, df = swept*share, slope*share+swept*bend
	}
	for k, v := range n.partial[:ns] {
		if k == l.back {
			v -= l.low
			out[ns+1] = math.Max(-f*v, 0)
		}
		out[k] = math.Max(f*v, 0)
		if d != nil {
			l.netSlopes(k, ns, v, f, df, d)
		}
	}
}

// valved is the speed of a pump that shuts at its blank-off over its
// displacement, 1 - low/p above low and 0 below, and its derivative by p. The
// corner is rounded over 0.1 % of low, because a circuit that is pumped out
// dwells there, and a corner would cost an integrator most of its steps.
func valved(low, p float64) (v, slope float64) {
	w := 1e-3 * low
	switch {
	case p <= low-w || p <= 0:
		return 0, 0
	case p < low+w:
		over := p - low + w // (p-low) rounded is over²/4w
		v = over * over / (4 * w * p)
		return v, (over/(2*w) - v) / p
	}
	return (p - low) / p, low / (p * p)
}

// netSlopes writes the derivatives of the net flow f·v of species k to the way
// that it takes.
func (l *pumpLaw) netSlopes(k, ns int, v, f, df float64, d *partSlopes) {
	d[k] = [2 * MaxSpecies]float64{}
	if k == l.back {
		d[ns+1] = [2 * MaxSpecies]float64{}
	}
	way, sign := k, 1.0
	if v < 0 {
		way, sign = ns+1, -1 // only the return gas can be below nothing
	}
	for j := range ns {
		d[way][j] = sign * df * v
	}
	d[way][k] += sign * f
}

// keep moves the vapour that exhaust gas and ballast cannot carry from the
// exhaust into the oil.
func (l *pumpLaw) keep(ns int, swept, slope float64, out []float64, d *partSlopes) {
	kept := out[0] - l.capacity(ns, swept, out)
	if !(kept > 0) {
		return
	}
	out[0], out[ns] = out[0]-kept, kept
	if d == nil {
		return
	}
	for j := range ns {
		d[ns][j] = d[0][j] - l.capacitySlope(ns, j, slope, d)
		d[0][j] -= d[ns][j]
	}
}

// capacity is the vapour that exhaust gas and ballast carry, mol/s.
func (l *pumpLaw) capacity(ns int, swept float64, out []float64) float64 {
	dry := 0.0
	for _, v := range out[1:ns] {
		dry += v
	}
	return swept*l.tolerance + l.carried*dry
}

// capacitySlope is its derivative by partial pressure j.
func (l *pumpLaw) capacitySlope(ns, j int, slope float64, d *partSlopes) float64 {
	sum := slope * l.tolerance
	for k := 1; k < ns; k++ {
		sum += l.carried * d[k][j]
	}
	return sum
}

// releaseSlopes writes the derivatives of the vapour from the oil.
func (l *pumpLaw) releaseSlopes(oil *sysNode, ns int, swept, slope, over float64, d *[2 * MaxSpecies]float64) {
	*d = [2 * MaxSpecies]float64{}
	for j := range ns {
		d[j] = slope * over
	}
	if oil.partial[0] < l.oil.saturation {
		d[ns] = swept * l.oil.approach
	}
}

// oilGain writes the water that the oil gains in mol/s into out[0]: what the
// pump keeps back, less what comes off to the inlet and what the exhaust still
// has room for, the oil's activity times the unused capacity.
func (l *pumpLaw) oilGain(n, oil *sysNode, ns int, out []float64, d *partSlopes) {
	var flows [2*MaxSpecies + 1]float64
	var slopes partSlopes
	if d == nil {
		l.flow(n, oil, ns, flows[:], nil)
	} else {
		l.flow(n, oil, ns, flows[:], &slopes)
	}
	swept, slope := l.swept(n)
	activity := math.Min(oil.partial[0]/l.oil.saturation, 1)
	released := swept * l.oil.approach * l.oil.saturation * activity
	room := math.Max(0, l.capacity(ns, swept, flows[:])-flows[0])
	out[0] = flows[ns] - released - room*activity
	if d == nil {
		return
	}
	d[0] = [2 * MaxSpecies]float64{}
	for j := range ns {
		d[0][j] = slopes[ns][j] - slope*l.oil.approach*l.oil.saturation*activity
		if room > 0 {
			d[0][j] -= activity * (l.capacitySlope(ns, j, slope, &slopes) - slopes[0][j])
		}
	}
	if activity < 1 {
		d[0][ns] = -swept*l.oil.approach - room/l.oil.saturation
	}
}
