package moisture

import "math"

// Heat content of water as the puddle carries it: J/kg, zero for liquid at the
// triple point. Heat capacities are linear fits whose enthalpies stay within 1
// kJ/kg of SR1-86 (liquid, to 50 °C) and R10-06 (ice, to -60 °C), and whose
// latent heats stay within 0.05 % of LatentHeatVaporisation and
// LatentHeatSublimation over the same range.
const (
	tripleT = float64(TriplePoint)
	fusion  = float64(LatentHeatFusion)

	liquidHeatCapacity = 4189.0 // J/(kg K), mean of SR1-86 eq 6 from 0.01 to 40 °C
	iceHeatCapacity    = 2095.6 // J/(kg K) at the triple point, R10-06
	iceHeatSlope       = 7.26   // J/(kg K²), R10-06
	vapourHeatAtTriple = 2500915.0
	vapourHeatCapacity = 1830.0 // J/(kg K), slope of saturated vapour by R6-95

	// Water colder or hotter than this does not occur; trial states are held to
	// it for the arithmetic only.
	coldestWater = 120.0 // K
	hottestWater = 450.0 // K
)

// heatOf is the enthalpy in J/kg of the phase stable at t, liquid at the triple
// point itself.
func heatOf(t float64) float64 {
	if t >= tripleT {
		return liquidHeatCapacity * (t - tripleT)
	}
	d := t - tripleT
	return -fusion + d*(iceHeatCapacity+d*iceHeatSlope/2)
}

// wallHeat is heatOf with the step at the triple point drawn out over 0.02 K,
// so that it stays continuous when a wall warms through it.
func wallHeat(t float64) float64 {
	const half = 0.01
	if math.Abs(t-tripleT) >= half {
		return heatOf(t)
	}
	lo, hi := heatOf(tripleT-half), heatOf(tripleT+half)
	return lo + (hi-lo)*(t-tripleT+half)/(2*half)
}

// temperatureOf inverts heatOf; between ice and liquid it is the triple point.
// Its two corners are rounded, by 5 mK at most and within 24 mK of them, because
// water that freezes or melts dwells there and a kink would cost an integrator most
// of its steps.
func temperatureOf(h float64) float64 {
	t := tripleT
	if warmer := ramp(h); warmer > 0 {
		t += warmer / liquidHeatCapacity
	} else if below := ramp(-(h + fusion)); below > 0 {
		root := iceHeatCapacity*iceHeatCapacity - 2*iceHeatSlope*below
		t -= (iceHeatCapacity - math.Sqrt(max(root, 0))) / iceHeatSlope
	}
	return min(max(t, coldestWater), hottestWater)
}

// rampHalf is half of the width of a ramp's corner, J/kg.
const rampHalf = 50.0

// ramp is x above a corner at 0 and 0 below it, rounded by a quartic whose slope and
// curvature meet both sides.
func ramp(x float64) float64 {
	if x <= -rampHalf {
		return 0
	}
	if x >= rampHalf {
		return x
	}
	up := x + rampHalf
	return up * up * up * (3*rampHalf - x) / (16 * rampHalf * rampHalf * rampHalf)
}

// rampSlope is the derivative of ramp.
func rampSlope(x float64) float64 {
	if x <= -rampHalf {
		return 0
	}
	if x >= rampHalf {
		return 1
	}
	up := x + rampHalf
	return up * up * (2*rampHalf - x) / (4 * rampHalf * rampHalf * rampHalf)
}

// vapourHeat is the enthalpy in J/kg of vapour leaving water at t.
func vapourHeat(t float64) float64 { return vapourHeatAtTriple + vapourHeatCapacity*(t-tripleT) }
