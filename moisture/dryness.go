package moisture

import (
	"math"

	"example.com/drydown/units"
)

// StoredWater is the water in one named store.
type StoredWater struct {
	Name    string
	Content Content
}

// Dryness is the water left in a circuit and what it means for its charge.
type Dryness struct {
	// Stores is the water by store, as given.
	Stores []StoredWater
	// Vapour is the water in the gas, kg.
	Vapour units.Mass
	// Forms is the sum over all stores by form.
	Forms Content
	// Water is all of it, vapour included, kg.
	Water units.Mass
	// PerCharge is Water over the charge of refrigerant.
	PerCharge units.MassFraction
}

// DrynessOf adds up the water of stores and vapour, at least 0 kg, and relates it to
// the charge of refrigerant, above 0 kg. Each form of each content must be finite and
// not negative beyond 1 µg of rounding; out of range is a RangeError.
func DrynessOf(stores []StoredWater, vapour, charge units.Mass) (Dryness, error) {
	c := checks{fn: "moisture.DrynessOf"}
	c.atLeastZero("vapour", float64(vapour), "kg")
	c.positive("charge", float64(charge), "kg")
	d := Dryness{Stores: append([]StoredWater(nil), stores...), Vapour: vapour}
	for _, s := range stores {
		content := s.Content
		for _, form := range []struct {
			name string
			mass units.Mass
		}{{"liquid", content.Liquid}, {"ice", content.Ice}, {"dissolved", content.Dissolved}, {"adsorbed", content.Adsorbed}} {
			c.within(form.name+" water in "+s.Name, float64(form.mass), -1e-9, math.MaxFloat64, "kg")
		}
		d.Forms = d.Forms.Add(s.Content)
	}
	if c.err != nil {
		return Dryness{}, c.err
	}
	d.Water = max(d.Forms.Total()+vapour, 0)
	d.PerCharge = units.MassFraction(d.Water / charge)
	return d, nil
}

// Judgement compares an amount of water with what is allowed.
type Judgement struct {
	// Ratio is the water over the allowance; at most 1 is within it.
	Ratio float64
	// Within is true when Ratio is at most 1.
	Within bool
}

// Against judges the water against a limit by mass of the charge, above 0 to 1; see
// WaterLimit for published ones. A limit of zero is ErrNoData, another value
// outside the range a RangeError.
func (d Dryness) Against(limit units.MassFraction) (Judgement, error) {
	if limit == 0 {
		return Judgement{}, missing("moisture.Dryness.Against: limit")
	}
	if err := units.CheckRange("moisture.Dryness.Against", "limit", float64(limit), math.SmallestNonzeroFloat64, 1, "kg/kg"); err != nil {
		return Judgement{}, err
	}
	return judge(float64(d.PerCharge) / float64(limit)), nil
}

// AgainstDrier judges the water against what a filter drier takes up, above 0 kg, as
// its maker states it. A capacity of zero is ErrNoData, another value outside the
// range a RangeError. A drier does not reach what stays in the oil.
func (d Dryness) AgainstDrier(capacity units.Mass) (Judgement, error) {
	if capacity == 0 {
		return Judgement{}, missing("moisture.Dryness.AgainstDrier: capacity")
	}
	c := checks{fn: "moisture.Dryness.AgainstDrier"}
	c.positive("capacity", float64(capacity), "kg")
	if c.err != nil {
		return Judgement{}, c.err
	}
	return judge(float64(d.Water) / float64(capacity)), nil
}

func judge(ratio float64) Judgement { return Judgement{Ratio: ratio, Within: ratio <= 1} }

// Point returns the dew or frost point, and over which phase, that all of the water
// makes once it is mixed into the vapour of the charge, of molar mass carrier, at
// pressure p: VapourFraction and ResidualPoint. Errors as those.
func (d Dryness) Point(carrier units.MolarMass, p units.Pressure) (units.Temperature, Phase, error) {
	// PerCharge is water over dry refrigerant; the fraction is of the whole.
	x, err := VapourFraction(d.PerCharge/(1+d.PerCharge), carrier)
	if err != nil {
		return 0, 0, err
	}
	return ResidualPoint(x, p)
}
