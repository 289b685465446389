package moisture

import (
	"fmt"
	"time"

	"example.com/drydown/units"
)

// places are the closed forms about stores, drying and dryness.
func places() map[string][]quantity {
	plateau := func(pick func(Plateau) float64) func(args) (float64, error) {
		return func(a args) (float64, error) {
			p, err := DryingPlateau(units.HeatConductance(a["supply"]), units.VolumeFlow(a["speed"]), units.Temperature(a["wall"]))
			return pick(p), err
		}
	}
	law := func(a args) (SaturationLaw, error) {
		return FitSaturation(SaturationPoint{units.Temperature(a["t1"]), units.MassFraction(a["w1"])},
			SaturationPoint{units.Temperature(a["t2"]), units.MassFraction(a["w2"])})
	}
	coverage := func(isotherm func(a args) Isotherm) func(args) (float64, error) {
		return func(a args) (float64, error) {
			return EquilibriumCoverage(isotherm(a), units.RelativeHumidity(a["rh"]), a.t())
		}
	}
	outgassing := func(law OutgassingLaw) func(args) (float64, error) {
		return func(a args) (float64, error) {
			q, err := Outgassing{law, a["q"], units.Area(a["area"])}.Throughput(time.Duration(a["open"] * 1e9))
			return float64(q), err
		}
	}
	released := func(law OutgassingLaw) func(args) (float64, error) {
		return func(a args) (float64, error) {
			n, err := Outgassing{law, a["q"], units.Area(a["area"])}.Released(time.Duration(a["from"]*1e9), time.Duration(a["to"]*1e9), a.t())
			return float64(n), err
		}
	}
	dried := func(a args) (Dryness, error) {
		return DrynessOf([]StoredWater{{"low spot", Content{Liquid: units.Mass(a["water"])}}}, 0, units.Mass(a["charge"]))
	}
	return map[string][]quantity{
		"plateau temperature": {{"DryingPlateau", plateau(func(p Plateau) float64 { return float64(p.Temperature) })}},
		"plateau pressure":    {{"DryingPlateau", plateau(func(p Plateau) float64 { return float64(p.Pressure) })}},
		"time of plateau": {{"Plateau.Time", func(a args) (float64, error) {
			p, err := DryingPlateau(units.HeatConductance(a["supply"]), units.VolumeFlow(a["speed"]), units.Temperature(a["wall"]))
			if err != nil {
				return 0, err
			}
			d, err := p.Time(units.Mass(a["m"]))
			return d.Seconds(), err
		}}},
		"freezing speed": {{"FreezingSpeed", func(a args) (float64, error) {
			s, err := FreezingSpeed(units.HeatConductance(a["supply"]), units.Temperature(a["wall"]))
			return float64(s), err
		}}},
		"adiabatic freezing fraction": {{"AdiabaticFreezingFraction", func(a args) (float64, error) {
			return AdiabaticFreezingFraction(units.Temperature(a["start"]))
		}}},
		"life of ice": {{"IceLife", func(a args) (float64, error) {
			d, err := IceLife(units.Mass(a["m"]), units.HeatConductance(a["supply"]), units.Temperature(a["wall"]), a.p())
			return d.Seconds(), err
		}}},
		"melting time": {{"MeltingTime", func(a args) (float64, error) {
			d, err := MeltingTime(units.Mass(a["m"]), units.HeatConductance(a["supply"]), units.Temperature(a["wall"]))
			return d.Seconds(), err
		}}},
		"saturation content of oil": {{"FitSaturation SaturationLaw.Content", func(a args) (float64, error) {
			l, err := law(a)
			if err != nil {
				return 0, err
			}
			w, err := l.Content(a.t())
			return float64(w), err
		}}},
		"vapour pressure over oil": {{"FitSaturation SaturationLaw.VapourPressure", func(a args) (float64, error) {
			l, err := law(a)
			if err != nil {
				return 0, err
			}
			p, err := l.VapourPressure(units.MassFraction(a["w"]), a.t())
			return float64(p), err
		}}},
		"equilibrium coverage Temkin":     {{"EquilibriumCoverage Temkin.Coverage", coverage(func(a args) Isotherm { return Temkin{a["span"]} })}},
		"equilibrium coverage Freundlich": {{"EquilibriumCoverage Freundlich.Coverage", coverage(func(a args) Isotherm { return Freundlich{a["exponent"]} })}},
		"water solubility": {{"WaterSolubility", func(a args) (float64, error) {
			w, err := WaterSolubility(refrigerant(a), a.t())
			return float64(w), err
		}}},
		"free water in refrigerant": {{"FreeWaterInRefrigerant", func(a args) (float64, error) {
			f, err := FreeWaterInRefrigerant(refrigerant(a), units.MassFraction(a["content"]), a.t())
			return f.Saturation, err
		}}},
		"moisture limit": {{"WaterLimit", func(a args) (float64, error) {
			w, err := WaterLimit(refrigerant(a))
			return float64(w), err
		}}},
		"water per charge": {{"DrynessOf", func(a args) (float64, error) {
			d, err := dried(a)
			return float64(d.PerCharge), err
		}}},
		"ratio to a limit": {{"Dryness.Against", func(a args) (float64, error) {
			d, err := dried(a)
			if err != nil {
				return 0, err
			}
			j, err := d.Against(units.MassFraction(a["limit"]))
			return j.Ratio, err
		}}},
		"ratio to a drier": {{"Dryness.AgainstDrier", func(a args) (float64, error) {
			d, err := dried(a)
			if err != nil {
				return 0, err
			}
			j, err := d.AgainstDrier(units.Mass(a["capacity"]))
			return j.Ratio, err
		}}},
		"frost point of a charge": {{"Dryness.Point", func(a args) (float64, error) {
			d, err := dried(a)
			if err != nil {
				return 0, err
			}
			t, _, err := d.Point(units.MolarMass(a["M"]), a.p())
			return float64(t), err
		}}},
		"rise from oil": {{"Rise.At", func(a args) (float64, error) {
			l, err := law(a)
			if err != nil {
				return 0, err
			}
			oil := Oil{
				Mass: units.Mass(a["m"]), WaterContent: units.MassFraction(a["w"]), Law: l,
				Exchange: time.Duration(a["exchange"] * 1e9),
			}
			r, err := oil.Rise(units.Volume(a["v"]), a.t(), units.Pressure(a["start"]))
			if err != nil {
				return 0, err
			}
			p, err := r.At(time.Duration(a["open"] * 1e9))
			return float64(p), err
		}}},
		"released by metal":       {{"Outgassing.Released", released(Metal)}},
		"released by elastomer":   {{"Outgassing.Released", released(Elastomer)}},
		"outgassing of metal":     {{"Outgassing.Throughput", outgassing(Metal)}},
		"outgassing of elastomer": {{"Outgassing.Throughput", outgassing(Elastomer)}},
	}
}

// refrigerant reads the number that a row gives; from 400 up the rows mean the
// blends with suffix A.
func refrigerant(a args) Refrigerant {
	name := fmt.Sprintf("R-%.0f", a["R"])
	if a["R"] >= 400 {
		name += "A"
	}
	return Refrigerant(name)
}
