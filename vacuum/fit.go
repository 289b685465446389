package vacuum

import (
	"fmt"
	"math"

	"example.com/drydown/units"
)

// EffectiveBore is the bore of the one tube of the given length, zero for an
// orifice, that passes the measured flow of a pure gas from up to down at t: a
// way to describe a part whose inside cannot be measured. The bore is sought
// from 1 µm to 1 m; it is an error when none of them fits, or when up is not
// above down.
func EffectiveBore(length units.Length, gas Gas, up, down units.Pressure, t units.Temperature, flow units.MolarFlow) (units.Length, error) {
	const fn = "vacuum.EffectiveBore"
	err := checkBounds(fn, bound{"flow", float64(flow), 1e-18, 1e6, "mol/s"}, bound{"length", float64(length), 0, 1e5, "m"},
		bound{"down", float64(down), 0, float64(up), "Pa"})
	if err != nil {
		return 0, err
	}
	at := func(bore float64) (float64, error) {
		n, err := Passage{{Bore: units.Length(bore), Length: length}}.MolarFlow(gas, up, down, t)
		return float64(n), err
	}
	low, high := 1e-6, 1.0
	least, err := at(low)
	if err != nil {
		return 0, fmt.Errorf("%s: %w", fn, err)
	}
	most, err := at(high)
	if err != nil {
		return 0, fmt.Errorf("%s: %w", fn, err)
	}
	if err := units.CheckRange(fn, "flow", float64(flow), least, most, "mol/s"); err != nil {
		return 0, err
	}
	for high/low > 1+1e-12 {
		mid := math.Sqrt(low * high)
		n, err := at(mid)
		if err != nil {
			return 0, err
		}
		if n < float64(flow) {
			low = mid
		} else {
			high = mid
		}
	}
	return units.Length(math.Sqrt(low * high)), nil
}

// FlowCoefficient is an orifice with the flow coefficient kv of a valve or
// fitting, the water flow in m³/h at 1 bar (Kv = 0.865·Cv): the hole with
// Cd·A = kv·1.964e-5 m². It stands for the part in choked and turbulent flow;
// in laminar and molecular flow it is a guess. kv is 1e-7 to 1e5.
func FlowCoefficient(kv float64) (Passage, error) {
	if err := units.CheckRange("vacuum.FlowCoefficient", "kv", kv, 1e-7, 1e5, "m³/h"); err != nil {
		return nil, err
	}
	// Q = Cd·A·√(2Δp/ρ) with Δp = 1e5 Pa and ρ = 1000 kg/m³.
	area := kv / 3600 / math.Sqrt(2e5/1000) / orificeDischarge
	return Passage{{Name: fmt.Sprintf("Kv %g", kv), Bore: units.Length(math.Sqrt(4 * area / math.Pi))}}, nil
}
