package moisture

import "math"

// Sloped is a Store that knows the derivatives of its rates, so that a
// simulation need not take differences.
type Sloped interface {
	Store
	// Slopes writes the derivatives at a state into dst, which comes from
	// NewSlopes(Len()) and may be used again. Wall and ThroughFlow are held as at
	// has them. It allocates nothing.
	Slopes(dst *Slopes, state []float64, at Surroundings)
}

// Slopes are the derivatives of a store's rates at one state, the wall's
// temperature and the flow past it held. With n states, len(State) is n·n, and
// that of Vapour and Dry n. Make one with NewSlopes.
type Slopes struct {
	// State[i*n+j] is the derivative of rate i by state j: the unit of state i per
	// second and per unit of state j, so 1/s where both are masses in kg.
	State []float64
	// Vapour[i] and Dry[i] are those by the fields of Surroundings of the same
	// name, each with the other as it is: the unit of state i per second and per
	// Pa.
	Vapour, Dry []float64
}

// NewSlopes has room for the derivatives of n states, the Len of a store, 0 or
// more. It panics when n is negative, a programming mistake.
func NewSlopes(n int) Slopes {
	return Slopes{State: make([]float64, n*n), Vapour: make([]float64, n), Dry: make([]float64, n)}
}

// Slopes are the derivatives of Rates, into a dst from NewSlopes(2).
func (p Puddle) Slopes(dst *Slopes, state []float64, at Surroundings) {
	s := p.at(state, at)
	f := p.releaseSlopes(&s, state[0], float64(at.Dry))
	heat := vapourHeat(s.temperature)
	warming := -s.supply - f.byTemperature*heat - s.release*vapourHeatCapacity // of the enthalpy's rate, per K
	denser := 0.0                                                              // of the same, per Pa of any gas
	if p.Gap > 0 {
		gas := dryGas{min(max(float64(at.Wall), coldestWater), hottestWater)}
		byPressure, byDifference := gas.gapSlopes(float64(p.Gap), p.jumpFactor(), float64(at.Vapour+at.Dry), gas.temperature-s.temperature)
		reach := float64(p.Area) * (float64(at.Wall) - s.temperature)
		warming -= reach * byDifference
		denser = reach * byPressure
	}
	byMass, byHeat := p.temperatureSlopes(state, float64(at.Wall))
	dst.State[0] = -f.byTemperature*byMass - f.byMass
	dst.State[1] = -f.byTemperature * byHeat
	dst.State[2] = warming*byMass - f.byMass*heat
	dst.State[3] = warming * byHeat
	dst.Vapour[0], dst.Vapour[1] = -f.byVapour, denser-f.byVapour*heat
	dst.Dry[0], dst.Dry[1] = -f.byDry, denser-f.byDry*heat
}

// releaseSlopes are the derivatives of the release: by the water's temperature,
// by its mass at that temperature, and by the gas.
type releaseSlopes struct{ byTemperature, byMass, byVapour, byDry float64 }

// releaseSlopes follows at and faded.
func (p *Puddle) releaseSlopes(s *puddleState, m, dry float64) releaseSlopes {
	area, fade := float64(p.Area), float64(p.FadeMass())
	warmer := saturationSlope(s.temperature)           // saturation per K
	faster := -s.surface.kinetic / (2 * s.temperature) // kinetic coefficient per K
	j := s.surface.fluxSlopes(s.flux, dry)
	line := s.surface.slope(dry)
	full := s.full
	fullByDry := -full * line / s.surface.film
	fullByTemperature := warmer*line + full*line/(s.surface.kinetic*s.surface.kinetic)*faster

	wet, whole := m/(math.Abs(m)+fade), math.Abs(m)+fade
	w := corner * full
	root := math.Sqrt(s.flux*s.flux + w*w)
	back, backByFlux, backByFull := 0.0, 0.0, 0.0
	if root > 0 {
		back = (s.flux - root) / 2
		if s.flux > 0 {
			back = -w * w / 2 / (s.flux + root)
		}
		backByFlux, backByFull = -back/root, -corner*w/(2*root)
	}
	byFlux, byFull := area*(wet+(1-wet)*backByFlux), area*(1-wet)*backByFull
	return releaseSlopes{
		byTemperature: byFlux*(j.bySaturation*warmer+j.byKinetic*faster) + byFull*fullByTemperature,
		byMass:        area * fade / (whole * whole) * (s.flux - back),
		byVapour:      byFlux * j.byVapour,
		byDry:         byFlux*j.byDry + byFull*fullByDry,
	}
}

// fluxSlopes are the derivatives of a flux.
type fluxSlopes struct{ bySaturation, byVapour, byDry, byKinetic float64 }

// fluxSlopes follow from the two laws in series, dry enrichment(j/film) = dry + pv -
// ps + j/kinetic.
func (s surface) fluxSlopes(j, dry float64) fluxSlopes {
	times, slope := enrichment(j / s.film)
	per := 1 / (1/s.kinetic + dry*slope/s.film)
	return fluxSlopes{bySaturation: per, byVapour: -per, byDry: (times - 1) * per, byKinetic: j / (s.kinetic * s.kinetic) * per}
}

// temperatureSlopes are the derivatives of waterTemperature by both states.
func (p *Puddle) temperatureSlopes(state []float64, wall float64) (byMass, byHeat float64) {
	ghost := float64(p.FadeMass()) / 1000
	mass, grows := state[0]+ghost, 1.0
	if state[0] < 0 {
		mass = ghost * ghost / (ghost - state[0])
		grows = mass * mass / (ghost * ghost)
	}
	h := (state[1] + ghost*wallHeat(min(max(wall, coldestWater), hottestWater))) / mass
	byHeat = temperatureSlope(h) / mass
	return -byHeat * h * grows, byHeat
}

// temperatureSlope is the derivative of temperatureOf, K per J/kg.
func temperatureSlope(h float64) float64 {
	t := temperatureOf(h)
	switch {
	case t <= coldestWater || t >= hottestWater:
		return 0
	case ramp(h) > 0:
		return rampSlope(h) / liquidHeatCapacity
	}
	x := -(h + fusion)
	below := ramp(x)
	return rampSlope(x) / math.Sqrt(max(iceHeatCapacity*iceHeatCapacity-2*iceHeatSlope*below, math.SmallestNonzeroFloat64))
}

// saturationSlope is dp/dT of stablePressure.
func saturationSlope(t float64) float64 {
	if t < tripleT {
		return iceSlope(t)
	}
	return liquidSlope(t)
}
