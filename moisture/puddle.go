package moisture

import (
	"math"

	"example.com/drydown/units"
)

// Puddle is free water in a circuit, liquid and ice with one temperature. It
// cools as it evaporates, freezes at the triple point, sublimes, melts when
// heat reaches it, and takes up vapour that condenses when its wall lies below
// the dew point; it may start empty for that. Heat supply, surface kinetics and
// a gas film act in series.
//
// Kinetics are those of Hertz and Knudsen with Schrage's factor 2a/(2-a), j = 2a/(2-a)
// (psat - pi)/sqrt(2 pi R T), which near a = 1 overpredicts by about 15 % (ASME J. Heat
// Transfer 144 (2022) 080802, abstract). The film is that of J. Stefan, j = M D p/(R T
// Film) ln((p - pv)/(p - pi)), whose resistance vanishes with the dry gas. Where vapour
// condenses and p - pi would be more than a thousand times p - pv, the logarithm gives
// way to its tangent: the film then holds the dry gas of 145 times its volume. That is
// not taken out of the node, so that in a smaller one, swept all but clean by vapour,
// the resistance is overstated, and with it the pressure, by 2 to 5 % for each factor of
// ten. The dry gas is taken to be nitrogen at wall temperature; air differs by a few per
// cent.
//
// Its states are the mass in kg and the enthalpy in J, zero for liquid at
// 273.16 K. The area stays constant while the mass shrinks. Temperature
// differences inside the water and supercooling are left out; vapour is taken to arrive
// and to leave with the enthalpy of vapour at water temperature. Melting and freezing are
// drawn out over 24 mK beside the triple point.
type Puddle struct {
	// Mass of water at the start, kg, 0 to 1000.
	Mass units.Mass
	// Temperature of the water at the start, K, 200 to 400: liquid from 273.16
	// K up, ice below. Zero means that of the wall.
	Temperature units.Temperature
	// Area of the water's surface towards the gas, m², above 0.
	Area units.Area
	// EvaporationCoefficient is the share of molecules that pass the surface,
	// above 0 to 1. Zero means 0.1: published values for water spread from 0.01
	// to 1 (from memory) and matter little where heat governs.
	EvaporationCoefficient float64
	// HeatSupply is the UA of the path through metal from the wall to the water,
	// W/K, at least 0. It and Gap must not both be zero.
	HeatSupply units.HeatConductance
	// Gap is the width of the gas space across which gas carries heat from the
	// wall to the water, over Area, m; zero means that no heat comes through
	// gas. The heat is conduction with a temperature jump, k/gap/(1 + JumpFactor
	// lambda/gap), times free convection; it does not vanish in proportion to
	// the pressure until lambda exceeds the gap.
	Gap units.Length
	// JumpFactor is c in 1 + c lambda/gap. Zero means 3.3: both surfaces, full
	// accommodation, 2 × 2γ/((γ+1) Pr) for a diatomic gas (E. H. Kennard, Kinetic
	// Theory of Gases, 1938; from memory). Imperfect accommodation makes it larger.
	JumpFactor float64
	// Film is the thickness of the gas layer that vapour diffuses through while
	// the gas is at rest, m. Zero means Bore/3.66, the laminar limit in a tube;
	// then Bore must be given.
	Film units.Length
	// Bore of the tube that the puddle lies in, m; with it, gas flowing through
	// the node thins the film by Schlünder's and Gnielinski's Sherwood
	// correlations. Zero means that flow does not change the film.
	Bore units.Length
	// Wetted is the length of the puddle along the tube, m. Zero means
	// Area/Bore, a strip as wide as the bore.
	Wetted units.Length
	// Fade is the mass over which the last of the water disappears, kg:
	// evaporation is multiplied by m/(m + Fade). Zero means a film of 50 µm over
	// Area, at most 10 mg.
	Fade units.Mass
}

// Check reports the first field that is out of range as a RangeError.
func (p Puddle) Check() error {
	c := checks{fn: "moisture.Puddle"}
	c.within("Mass", float64(p.Mass), 0, 1000, "kg")
	if p.Temperature != 0 {
		c.within("Temperature", float64(p.Temperature), 200, 400, "K")
	}
	c.positive("Area", float64(p.Area), "m²")
	if p.EvaporationCoefficient != 0 {
		c.within("EvaporationCoefficient", p.EvaporationCoefficient, 1e-6, 1, "")
	}
	c.atLeastZero("HeatSupply", float64(p.HeatSupply), "W/K")
	c.atLeastZero("Gap", float64(p.Gap), "m")
	if p.Gap == 0 {
		c.positive("HeatSupply (while Gap is 0)", float64(p.HeatSupply), "W/K")
	}
	c.atLeastZero("JumpFactor", p.JumpFactor, "")
	c.atLeastZero("Film", float64(p.Film), "m")
	c.atLeastZero("Bore", float64(p.Bore), "m")
	if p.Film == 0 {
		c.positive("Bore (while Film is 0)", float64(p.Bore), "m")
	}
	c.atLeastZero("Wetted", float64(p.Wetted), "m")
	c.atLeastZero("Fade", float64(p.Fade), "kg")
	return c.err
}

// Len is 2: mass and enthalpy.
func (p Puddle) Len() int { return 2 }

// Start writes the initial mass and enthalpy.
func (p Puddle) Start(state []float64, at Surroundings) {
	t := p.Temperature
	if t == 0 {
		t = at.Wall
	}
	state[0] = float64(p.Mass)
	state[1] = float64(p.Mass) * heatOf(float64(t))
}

// Pattern says that both states depend on both, on the gas, and with a Bore on its
// flow.
func (p Puddle) Pattern() Pattern {
	pattern := DensePattern(2)
	pattern.Flow = p.Bore > 0
	return pattern
}

// Content splits the mass into liquid and ice. The total is state 0; the
// split follows the enthalpy.
func (p Puddle) Content(state []float64) Content {
	m := state[0]
	ice := min(max(-state[1]/fusion, 0), max(m, 0))
	return Content{Liquid: units.Mass(m - ice), Ice: units.Mass(ice)}
}

// Scale writes the fade mass and the heat that melts it.
func (p Puddle) Scale(dst []float64) {
	fade := float64(p.FadeMass())
	dst[0], dst[1] = fade, fade*fusion
}

// FadeMass is Fade or its default.
func (p Puddle) FadeMass() units.Mass {
	if p.Fade > 0 {
		return p.Fade
	}
	const film, density, most = 50e-6, 1000.0, 10e-6
	return units.Mass(min(film*density*float64(p.Area), most))
}

// Rates writes the rates of mass, kg/s, and enthalpy, W, and returns the evaporation in
// kg/s, negative for condensation.
func (p Puddle) Rates(dst, state []float64, at Surroundings) float64 {
	s := p.at(state, at)
	dst[0] = -s.release
	dst[1] = s.supply*(float64(at.Wall)-s.temperature) - s.release*vapourHeat(s.temperature)
	return s.release
}

// puddleState is what Rates and Report derive from a state.
type puddleState struct {
	temperature float64 // K
	saturation  float64 // Pa, at temperature
	supply      float64 // W/K, metal and gas together
	flux        float64 // kg/(m² s), before fading
	full        float64 // kg/(m² s), into dry gas while both steps are linear
	release     float64 // kg/s
	surface     surface
}

func (p *Puddle) at(state []float64, at Surroundings) puddleState {
	gas := dryGas{min(max(float64(at.Wall), coldestWater), hottestWater)}
	var s puddleState
	s.temperature = p.waterTemperature(state, gas.temperature)
	s.saturation = stablePressure(s.temperature)
	s.supply = float64(p.HeatSupply)
	if p.Gap > 0 {
		s.supply += float64(p.Area) * gas.gapConductance(float64(p.Gap), p.jumpFactor(), float64(at.Vapour+at.Dry), gas.temperature-s.temperature)
	}
	s.surface = surface{
		kinetic: kineticCoefficient(p.evaporationCoefficient(), s.temperature),
		film:    gas.filmCoefficient(p.film(gas, float64(at.ThroughFlow))),
	}
	s.flux = s.surface.flux(s.saturation, float64(at.Vapour), float64(at.Dry))
	s.full = s.saturation * s.surface.slope(float64(at.Dry))
	s.release = float64(p.Area) * p.faded(s.flux, state[0], s.full)
	return s
}

// corner is the share of the flux into dry gas over which the corner between
// evaporation and condensation is rounded.
const corner = 1e-3

// faded is the flux from a surface of which m/(m + Fade) is wet: evaporation
// comes from the wet part, condensation goes to all of it. Between the two the
// corner is rounded over a thousandth of the flux into dry gas, full, since a
// nearly empty puddle in humid gas dwells there; a spot that is dry then holds
// 2.5e-7 of the fade mass per squared relative distance from saturation. Trial
// states scatter about that, so that below an empty spot the wet part goes on
// without a corner.
func (p *Puddle) faded(flux, m, full float64) float64 {
	wet := m / (math.Abs(m) + float64(p.FadeMass()))
	w := corner * full
	var back float64 // the part of the flux below 0
	if flux < 0 {
		back = (flux - math.Sqrt(flux*flux+w*w)) / 2
	} else if w > 0 {
		back = -w * w / 2 / (flux + math.Sqrt(flux*flux+w*w))
	}
	return wet*flux + (1-wet)*back
}

// cornerFlux is how much of faded, in magnitude, is there only because the corner is
// rounded.
func (p *Puddle) cornerFlux(flux, m, full float64) float64 {
	return math.Abs(p.faded(flux, m, full) - p.faded(flux, m, 0))
}

// waterTemperature is the temperature that the enthalpy gives. As the mass
// vanishes, H/m loses its meaning; a thousandth of the fade mass at wall
// temperature is added, so that the temperature goes over into the wall's.
func (p *Puddle) waterTemperature(state []float64, wall float64) float64 {
	ghost := float64(p.FadeMass()) / 1000
	mass := state[0] + ghost
	if state[0] < 0 { // goes on above 0 without a corner
		mass = ghost * ghost / (ghost - state[0])
	}
	return temperatureOf((state[1] + ghost*wallHeat(wall)) / mass)
}

// film is the gas film in m at the given through-flow in mol/s.
func (p *Puddle) film(gas dryGas, flow float64) float64 {
	rest, bore := float64(p.Film), float64(p.Bore)
	if rest == 0 {
		rest = bore / filmSherwood
	}
	if bore == 0 || !(flow > 0) {
		return rest
	}
	length := float64(p.Wetted)
	if length == 0 {
		length = float64(p.Area) / bore
	}
	return sweptFilm(rest, bore, length, flow, gas)
}

func (p *Puddle) evaporationCoefficient() float64 {
	if p.EvaporationCoefficient == 0 {
		return 0.1
	}
	return p.EvaporationCoefficient
}

func (p *Puddle) jumpFactor() float64 {
	if p.JumpFactor == 0 {
		return 3.3
	}
	return p.JumpFactor
}

// Report says how warm the water is, what it gives off and which of heat
// supply, kinetics and gas film takes the largest share of the pressure
// difference between saturation at wall temperature and the vapour.
func (p Puddle) Report(state []float64, at Surroundings) Report {
	s := p.at(state, at)
	r := Report{Temperature: units.Temperature(s.temperature), Release: units.MassFlow(s.release)}
	// A spot that is dry takes up what the rounded corner lets it, which says nothing of
	// the steps; the slack covers states beside zero.
	if math.Abs(s.release) <= float64(p.Area)*(p.cornerFlux(s.flux, state[0], s.full)+1e-6*math.Abs(s.flux)) {
		return r
	}
	wall := stablePressure(min(max(float64(at.Wall), coldestWater), hottestWater))
	surfacePressure := s.saturation - s.flux/s.surface.kinetic
	steps := []struct {
		name Resistance
		drop float64
	}{
		{HeatSupply, math.Abs(wall - s.saturation)},
		{Kinetic, math.Abs(s.saturation - surfacePressure)},
		{GasFilm, math.Abs(surfacePressure - float64(at.Vapour))},
	}
	total := 0.0
	for _, step := range steps {
		total += step.drop
	}
	for _, step := range steps {
		if share := step.drop / total; share > r.Share {
			r.Governing, r.Share = step.name, share
		}
	}
	return r
}
