package purge

import (
	"math"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// SweepBound returns the most water that a dry volume flow can carry off at
// sweep pressure p from water at temperature t, kg/s. The flow is Q_in, m³/s at
// p and t, 0 or more; it would have to leave saturated:
//
//	Q_in M p_sat/(R T) · p/(p - p_sat)
//
// from the balance n_w/(n_w + n_dry) = p_sat/p of the leaving gas. Saturation is
// over ice below 273.16 K. At p <= p_sat the water boils and no such bound
// exists: a RangeError says so.
func SweepBound(dry units.VolumeFlow, p units.Pressure, t units.Temperature) (units.MassFlow, error) {
	const fn = "purge.SweepBound"
	if err := units.CheckRange(fn, "dry", float64(dry), 0, math.MaxFloat64, "m³/s"); err != nil {
		return 0, err
	}
	ratio, err := vapourPerDry(fn, p, t)
	if err != nil {
		return 0, err
	}
	flow := float64(dry) * float64(p) / (units.GasConstant * float64(t))
	return units.MassFlow(flow * ratio * float64(moisture.MolarMass)), nil
}

// SweepBoundMolar is SweepBound for a dry flow in mol/s, 0 or more:
// n_dry M p_sat/(p - p_sat), kg/s.
func SweepBoundMolar(dry units.MolarFlow, p units.Pressure, t units.Temperature) (units.MassFlow, error) {
	const fn = "purge.SweepBoundMolar"
	if err := units.CheckRange(fn, "dry", float64(dry), 0, math.MaxFloat64, "mol/s"); err != nil {
		return 0, err
	}
	ratio, err := vapourPerDry(fn, p, t)
	if err != nil {
		return 0, err
	}
	return units.MassFlow(float64(dry) * ratio * float64(moisture.MolarMass)), nil
}

// WetFlowCarry returns the water in a saturated flow as it leaves, kg/s:
// Q_out M p_sat/(R T), with the leaving flow in m³/s at its own pressure and
// at t. The dry flow that went in is smaller by the vapour it took up, which is
// the factor p/(p - p_sat) of SweepBound.
func WetFlowCarry(wet units.VolumeFlow, t units.Temperature) (units.MassFlow, error) {
	m, err := saturatedMass("purge.WetFlowCarry", "wet", "m³/s", float64(wet), t)
	return units.MassFlow(m), err
}

// FillCarry returns the most water that one fill of a volume, m³, 0 or more,
// can hold as vapour at temperature t, kg: V M p_sat/(R T). The pressure of the
// nitrogen does not enter: more nitrogen holds no more water.
func FillCarry(v units.Volume, t units.Temperature) (units.Mass, error) {
	m, err := saturatedMass("purge.FillCarry", "v", "m³", float64(v), t)
	return units.Mass(m), err
}

// LeastNitrogen returns the least dry nitrogen that can carry off the mass
// water, kg, 0 or more, at sweep pressure p from water kept at temperature t,
// mol: (m/M) (p - p_sat)/p_sat. It is SweepBoundMolar solved for the gas, so it
// supposes a flow slow enough to leave saturated and water that does not cool.
func LeastNitrogen(water units.Mass, p units.Pressure, t units.Temperature) (units.Amount, error) {
	const fn = "purge.LeastNitrogen"
	if err := units.CheckRange(fn, "water", float64(water), 0, math.MaxFloat64, "kg"); err != nil {
		return 0, err
	}
	ratio, err := vapourPerDry(fn, p, t)
	if err != nil {
		return 0, err
	}
	return units.Amount(float64(water) / float64(moisture.MolarMass) / ratio), nil
}

// Film is a wet surface under a layer of gas that vapour must diffuse through.
type Film struct {
	// Area is the wet surface, m², above 0.
	Area units.Area
	// Thickness is the thickness δ of the stagnant layer, m, above 0: for a
	// known Sherwood number and length L it is L/Sh.
	Thickness units.Length
	// Surface is the temperature of the water surface, K. Evaporating water is
	// colder than the wall, so the wall temperature gives an upper bound.
	Surface units.Temperature
	// Vapour is the partial pressure of vapour beyond the layer, Pa, at least 0
	// and below the sweep pressure. Zero, perfectly dry gas, gives the bound.
	Vapour units.Pressure
}

// FilmBound returns what diffusion through the film lets evaporate at sweep
// pressure p, kg/s, by Stefan flow:
//
//	A M D p/(δ R T) ln[(p - p_w)/(p - p_sat)]
//
// It is negative when vapour condenses on the surface. At p <= p_sat the water
// boils, the film holds nothing back, and a RangeError says so. D is
// moisture.Diffusivity, known to about 5 %.
func FilmBound(f Film, p units.Pressure) (units.MassFlow, error) {
	const fn = "purge.FilmBound"
	if err := units.CheckRange(fn, "Area", float64(f.Area), math.SmallestNonzeroFloat64, math.MaxFloat64, "m²"); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "Thickness", float64(f.Thickness), math.SmallestNonzeroFloat64, math.MaxFloat64, "m"); err != nil {
		return 0, err
	}
	sat, err := boilingBelow(fn, p, f.Surface)
	if err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "Vapour", float64(f.Vapour), 0, math.Nextafter(float64(p), 0), "Pa"); err != nil {
		return 0, err
	}
	dp, err := diffusivityTimesPressure(f.Surface)
	if err != nil {
		return 0, err
	}
	drive := math.Log1p(float64(sat-f.Vapour) / float64(p-sat))
	flux := dp / (float64(f.Thickness) * units.GasConstant * float64(f.Surface)) * drive
	return units.MassFlow(float64(f.Area) * float64(moisture.MolarMass) * flux), nil
}

// CarryLimit is what a sweep can carry off at most and what limits it.
type CarryLimit struct {
	Saturation units.MassFlow // the leaving gas cannot hold more, kg/s
	Film       units.MassFlow // diffusion to the gas lets no more evaporate, kg/s
	// Least is the smaller of the two, an upper bound on what the sweep removes.
	Least units.MassFlow
	// FilmGoverns is true when the film is the smaller of the two: then more
	// nitrogen helps only as far as it thins the film.
	FilmGoverns bool
}

// SweepLimit returns both bounds for a dry flow, mol/s, 0 or more, that passes a
// film at pressure p. Heat is not in it: see AfterHold and the simulation.
func SweepLimit(dry units.MolarFlow, p units.Pressure, f Film) (CarryLimit, error) {
	saturation, err := SweepBoundMolar(dry, p, f.Surface)
	if err != nil {
		return CarryLimit{}, err
	}
	film, err := FilmBound(f, p)
	if err != nil {
		return CarryLimit{}, err
	}
	c := CarryLimit{Saturation: saturation, Film: film, Least: min(saturation, film)}
	c.FilmGoverns = film < saturation
	return c, nil
}

// vapourPerDry is p_sat/(p - p_sat), the moles of vapour that leave with each
// mole of dry gas that is saturated at p and t.
func vapourPerDry(fn string, p units.Pressure, t units.Temperature) (float64, error) {
	sat, err := boilingBelow(fn, p, t)
	if err != nil {
		return 0, err
	}
	return float64(sat) / float64(p-sat), nil
}

// boilingBelow returns the saturation pressure at t and refuses a p that is not
// above it.
func boilingBelow(fn string, p units.Pressure, t units.Temperature) (units.Pressure, error) {
	sat, _, err := moisture.SaturationPressure(t)
	if err != nil {
		return 0, err
	}
	least := math.Nextafter(float64(sat), math.MaxFloat64)
	return sat, units.CheckRange(fn, "p", float64(p), least, math.MaxFloat64, "Pa")
}

// saturatedMass is x M p_sat/(R T), the vapour in x cubic metres (per second).
func saturatedMass(fn, arg, unit string, x float64, t units.Temperature) (float64, error) {
	if err := units.CheckRange(fn, arg, x, 0, math.MaxFloat64, unit); err != nil {
		return 0, err
	}
	sat, _, err := moisture.SaturationPressure(t)
	if err != nil {
		return 0, err
	}
	return x * float64(moisture.MolarMass) * float64(sat) / (units.GasConstant * float64(t)), nil
}

// diffusivityTimesPressure is D p of water vapour in nitrogen, Pa m²/s.
func diffusivityTimesPressure(t units.Temperature) (float64, error) {
	d, err := moisture.Diffusivity(t, units.Atmosphere)
	return float64(d) * float64(units.Atmosphere), err
}
