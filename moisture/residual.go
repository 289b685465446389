package moisture

import "example.com/drydown/units"

// VapourFraction returns the mole fraction of water in a gas of molar mass
// carrier, above 0 kg/mol, that contains the mass fraction content, 0 to 1, of
// water: what "10 mg/kg" in a charge of refrigerant is in its vapour. Outside the
// ranges the error is a RangeError.
func VapourFraction(content units.MassFraction, carrier units.MolarMass) (units.MoleFraction, error) {
	c := checks{fn: "moisture.VapourFraction"}
	c.within("content", float64(content), 0, 1, "")
	c.positive("carrier", float64(carrier), "kg/mol")
	if c.err != nil {
		return 0, c.err
	}
	water := float64(content) / float64(MolarMass)
	return units.MoleFraction(water / (water + (1-float64(content))/float64(carrier))), nil
}

// ResidualPoint returns the dew or frost point in K, and over which phase, that
// the mole fraction x of water makes in a gas at pressure p: SaturationTemperature
// of x p. The gas is taken as ideal; enhancement factors of refrigerants are
// not known here; that of air would lower the point by about 0.5 K at 1 MPa. x p
// must lie in the range of SaturationTemperature; outside it the error is a RangeError.
func ResidualPoint(x units.MoleFraction, p units.Pressure) (units.Temperature, Phase, error) {
	c := checks{fn: "moisture.ResidualPoint"}
	c.within("x", float64(x), 0, 1, "")
	c.positive("p", float64(p), "Pa")
	if c.err != nil {
		return 0, 0, c.err
	}
	return SaturationTemperature(units.Pressure(float64(x) * float64(p)))
}

// FreeWater says whether water leaves a gas or a liquid refrigerant as a phase of its
// own.
type FreeWater struct {
	// Saturation is the water content over the most that can stay in: above 1 the
	// rest comes out.
	Saturation float64
	// Phase is what comes out when Saturation exceeds 1, liquid or ice; 0 when
	// nothing does.
	Phase Phase
}

// FreeWaterInGas answers whether gas with mole fraction x of water, at pressure p
// behind an expansion device that cools to t, 50 to 647.096 K, gives off water,
// and whether as liquid or ice: x p against the saturation pressure at t. Liquid
// refrigerant dissolves far more: see FreeWaterInRefrigerant. Outside the ranges
// the error is a RangeError.
func FreeWaterInGas(x units.MoleFraction, p units.Pressure, t units.Temperature) (FreeWater, error) {
	c := checks{fn: "moisture.FreeWaterInGas"}
	c.within("x", float64(x), 0, 1, "")
	c.positive("p", float64(p), "Pa")
	if c.err != nil {
		return FreeWater{}, c.err
	}
	limit, phase, err := SaturationPressure(t)
	if err != nil {
		return FreeWater{}, err
	}
	f := FreeWater{Saturation: float64(x) * float64(p) / float64(limit)}
	if f.Saturation > 1 {
		f.Phase = phase
	}
	return f, nil
}
