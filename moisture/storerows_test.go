package moisture

import (
	"time"

	"example.com/drydown/units"
)

// storeRows are the rates of the stores and what goes into them.
func storeRows() map[string][]quantity {
	return map[string][]quantity{
		"puddle release":   {{"Puddle.Rates", puddleRates(func(release, _ float64) float64 { return release })}},
		"heat into puddle": {{"Puddle.Rates", puddleRates(func(_, heat float64) float64 { return heat })}},
		"release of walls": {{"Walls.Rates", func(a args) (float64, error) {
			w := sampleWalls()
			w.Coverage, w.Isotherm = a["coverage"], isothermOf(a)
			return startingRelease(w, Surroundings{Wall: a.t(), Vapour: units.Pressure(a["pv"])})
		}}},
		"release of desiccant": {{"Desiccant.Rates", func(a args) (float64, error) {
			d := sampleDesiccant()
			d.Coverage, d.Isotherm = a["coverage"], isothermOf(a)
			return startingRelease(d, Surroundings{Wall: a.t(), Vapour: units.Pressure(a["pv"]), Dry: 1000})
		}}},
		"release of oil": {{"Oil.Rates", func(a args) (float64, error) {
			law, err := FitSaturation(SaturationPoint{293.15, 1500e-6}, SaturationPoint{333.15, 3000e-6})
			if err != nil {
				return 0, err
			}
			o := Oil{Mass: 0.5, WaterContent: units.MassFraction(a["w"]), Law: law, Exchange: time.Hour}
			return startingRelease(o, Surroundings{Wall: a.t(), Vapour: units.Pressure(a["pv"]), Dry: 1000})
		}}},
		"activity Temkin":     {{"Temkin.Activity", activity}},
		"activity Freundlich": {{"Freundlich.Activity", activity}},
		"fade mass of puddle": {{"Puddle.FadeMass", func(a args) (float64, error) {
			return float64(Puddle{Area: units.Area(a["area"])}.FadeMass()), nil
		}}},
		"fade mass of oil": {{"Oil.FadeMass", func(a args) (float64, error) {
			return float64(Oil{Mass: units.Mass(a["m"])}.FadeMass()), nil
		}}},
		"fade mass of walls": {{"Walls.FadeMass", func(a args) (float64, error) {
			return float64(Walls{Area: units.Area(a["area"]), Capacity: a["capacity"]}.FadeMass()), nil
		}}},
		"fade mass of desiccant": {{"Desiccant.FadeMass", func(a args) (float64, error) {
			return float64(Desiccant{Mass: units.Mass(a["m"]), Capacity: a["capacity"]}.FadeMass()), nil
		}}},
	}
}

// puddleRates starts a puddle as the row says and picks from its release and the
// rate of its enthalpy.
func puddleRates(pick func(release, heat float64) float64) func(args) (float64, error) {
	return func(a args) (float64, error) {
		p := Puddle{
			Mass: units.Mass(a["m"]), Temperature: a.t(), Area: units.Area(a["area"]),
			EvaporationCoefficient: a["a"], HeatSupply: units.HeatConductance(a["supply"]), Gap: units.Length(a["gap"]),
			Film: units.Length(a["film"]), Bore: units.Length(a["bore"]), Wetted: units.Length(a["length"]),
		}
		if err := p.Check(); err != nil {
			return 0, err
		}
		at := Surroundings{units.Temperature(a["wall"]), units.Pressure(a["pv"]), a.p() - units.Pressure(a["pv"]), units.MolarFlow(a["flow"])}
		state, rates := make([]float64, 2), make([]float64, 2)
		p.Start(state, at)
		release := p.Rates(rates, state, at)
		return pick(release, rates[1]), nil
	}
}

// startingRelease is what a store of one state gives off as it starts.
func startingRelease(s Store, at Surroundings) (float64, error) {
	state := []float64{0}
	s.Start(state, at)
	return s.Rates([]float64{0}, state, at), s.Check()
}

// isothermOf is Temkin's with a span, Freundlich's with an exponent.
func isothermOf(a args) Isotherm {
	if has(a, "span") {
		return Temkin{a["span"]}
	}
	return Freundlich{a["exponent"]}
}

func activity(a args) (float64, error) {
	return isothermOf(a).Activity(a["coverage"], a["t"]), isothermOf(a).Check()
}
