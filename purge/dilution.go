package purge

import (
	"math"

	"example.com/drydown/units"
)

// Cycles is a train of equal dilution cycles: purge gas takes the circuit from
// Low to High and mixes, then a pump or a vent takes it back to Low. One cycle
// multiplies what lies above the purge gas's own content by Low/High (Crowl and
// Louvar, ch. 7).
//
// VacuumCycles, PressureCycles, PressureFirst and VacuumFirst build the four
// trains of the textbooks.
type Cycles struct {
	// Low is the pressure before each fill, Pa absolute, above 0 and below High.
	Low units.Pressure
	// High is the pressure after each fill, Pa absolute.
	High units.Pressure
	// FirstFill is the pressure, Pa absolute, from which one extra fill to High
	// comes before the counted cycles, 0 to High. Zero means no such fill: the
	// train starts with the circuit at Low and its gas undiluted.
	FirstFill units.Pressure
	// End is the pressure at which the train is left, Low to High, Pa absolute.
	// Zero means High. It changes the amount of gas left, not its composition.
	End units.Pressure
	// Purge is the content of the species in the purge gas, mole fraction, 0 to
	// 1. Zero means pure purge gas.
	Purge units.MoleFraction
}

// VacuumCycles pulls a circuit from ambient to low and fills it back to
// ambient, again and again. It is left at ambient.
func VacuumCycles(low, ambient units.Pressure) Cycles {
	return Cycles{Low: low, High: ambient, End: ambient}
}

// PressureCycles fills a circuit from ambient to high and vents it back to
// ambient, again and again. It is left at ambient.
func PressureCycles(ambient, high units.Pressure) Cycles {
	return Cycles{Low: ambient, High: high, End: ambient}
}

// PressureFirst fills once from ambient to high, then pulls to low and fills
// to high in counted cycles. The first fill dilutes by ambient/high and is not
// counted (Crowl and Louvar, combined pressure-vacuum purging, pressure first).
// The train is left at high.
func PressureFirst(ambient, low, high units.Pressure) Cycles {
	return Cycles{Low: low, High: high, FirstFill: ambient, End: high}
}

// VacuumFirst pulls to low, which dilutes nothing, then fills to high and pulls
// to low in counted cycles (Crowl and Louvar, combined pressure-vacuum purging,
// vacuum first). The train is left at low.
func VacuumFirst(low, high units.Pressure) Cycles {
	return Cycles{Low: low, High: high, End: low}
}

// Check reports the first field that is missing or out of range.
func (c Cycles) Check() error {
	const fn = "purge.Cycles"
	top := math.MaxFloat64
	if err := units.CheckRange(fn, "High", float64(c.High), math.SmallestNonzeroFloat64, top, "Pa"); err != nil {
		return err
	}
	below := math.Nextafter(float64(c.High), 0)
	if err := units.CheckRange(fn, "Low", float64(c.Low), math.SmallestNonzeroFloat64, below, "Pa"); err != nil {
		return err
	}
	if err := units.CheckRange(fn, "FirstFill", float64(c.FirstFill), 0, float64(c.High), "Pa"); err != nil {
		return err
	}
	if c.End != 0 {
		if err := units.CheckRange(fn, "End", float64(c.End), float64(c.Low), float64(c.High), "Pa"); err != nil {
			return err
		}
	}
	return units.CheckRange(fn, "Purge", float64(c.Purge), 0, 1, "")
}

// EndPressure is the pressure at which the train is left, Pa absolute.
func (c Cycles) EndPressure() units.Pressure {
	if c.End == 0 {
		return c.High
	}
	return c.End
}

// firstFactor is what the uncounted first fill leaves of the excess over the
// purge gas, 1 without such a fill.
func (c Cycles) firstFactor() float64 {
	if c.FirstFill == 0 {
		return 1
	}
	return float64(c.FirstFill) / float64(c.High)
}

// Left returns the mole fraction after n counted cycles that started with the
// fraction start, 0 to 1; n is 0 or more. With n = 0 only the first fill, if
// there is one, has diluted.
//
//	(y_n - y_p)/(y_0 - y_p) = (first fill) (Low/High)^n
func (c Cycles) Left(start units.MoleFraction, n int) (units.MoleFraction, error) {
	const fn = "purge.Cycles.Left"
	if err := c.Check(); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "start", float64(start), 0, 1, ""); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "n", float64(n), 0, math.MaxInt32, "cycles"); err != nil {
		return 0, err
	}
	share := c.firstFactor() * math.Pow(float64(c.Low)/float64(c.High), float64(n))
	return c.Purge + (start-c.Purge)*units.MoleFraction(share), nil
}

// Needed is a number of cycles that reaches a target.
type Needed struct {
	// Exact is the number the formula gives, 0 or more, seldom whole.
	Exact float64
	// Whole is the number to carry out. An Exact within 1e-9 above a whole
	// number counts as that number, since it is only round-off.
	Whole int
}

// CyclesTo returns the counted cycles that bring the fraction from start to
// target or below. The target must lie above the purge gas's own content,
// which no number of cycles gets below. A target already met needs none.
func (c Cycles) CyclesTo(start, target units.MoleFraction) (Needed, error) {
	const fn = "purge.Cycles.CyclesTo"
	if err := c.Check(); err != nil {
		return Needed{}, err
	}
	excess, err := excessRatio(fn, start, target, c.Purge)
	if err != nil {
		return Needed{}, err
	}
	exact := math.Log(excess*c.firstFactor()) / math.Log(float64(c.High)/float64(c.Low))
	if !(exact > 0) {
		return Needed{}, nil
	}
	if exact > math.MaxInt32 {
		return Needed{}, units.CheckRange(fn, "cycles needed", exact, 0, math.MaxInt32, "cycles")
	}
	return Needed{Exact: exact, Whole: int(math.Ceil(exact - 1e-9))}, nil
}

// LowFor returns the low pressure, Pa absolute, that brings the fraction from
// start to target in n counted cycles with everything else as in c; Low is not
// read. It fails when the target is met without any cycle, since every low
// pressure then does.
func (c Cycles) LowFor(start, target units.MoleFraction, n int) (units.Pressure, error) {
	const fn = "purge.Cycles.LowFor"
	c.Low, c.End = c.High/2, 0
	if err := c.Check(); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "n", float64(n), 1, math.MaxInt32, "cycles"); err != nil {
		return 0, err
	}
	excess, err := excessRatio(fn, start, target, c.Purge)
	if err != nil {
		return 0, err
	}
	excess *= c.firstFactor()
	if !(excess > 1) {
		already := float64(c.Purge) + float64(start-c.Purge)*c.firstFactor()
		return 0, &units.RangeError{
			Func: fn, Arg: "target", Value: float64(target),
			Min: float64(c.Purge), Max: math.Nextafter(already, 0),
		}
	}
	return c.High * units.Pressure(math.Pow(excess, -1/float64(n))), nil
}

// Gas returns the purge gas that n counted cycles take in a circuit of the
// given volume at temperature t, mol:
//
//	[n (High - Low) + (High - FirstFill if there is one)] V/(R T)
//
// for an ideal gas (Crowl and Louvar, ch. 7).
func (c Cycles) Gas(volume units.Volume, t units.Temperature, n int) (units.Amount, error) {
	const fn = "purge.Cycles.Gas"
	if err := c.Check(); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "n", float64(n), 0, math.MaxInt32, "cycles"); err != nil {
		return 0, err
	}
	if err := checkVolume(fn, "volume", volume); err != nil {
		return 0, err
	}
	rise := float64(n) * float64(c.High-c.Low)
	if c.FirstFill > 0 {
		rise += float64(c.High - c.FirstFill)
	}
	return amountIn(fn, units.Pressure(rise), volume, t)
}

// excessRatio is (start - purge)/(target - purge), how many times the excess
// over the purge gas must shrink. One or less means that the target is met.
func excessRatio(fn string, start, target, purge units.MoleFraction) (float64, error) {
	if err := units.CheckRange(fn, "start", float64(start), 0, 1, ""); err != nil {
		return 0, err
	}
	least := math.Nextafter(float64(purge), 1)
	if err := units.CheckRange(fn, "target", float64(target), least, 1, ""); err != nil {
		return 0, err
	}
	return float64(start-purge) / float64(target-purge), nil
}

// amountIn is p V/(R T) with its arguments checked.
func amountIn(fn string, p units.Pressure, volume units.Volume, t units.Temperature) (units.Amount, error) {
	if err := units.CheckRange(fn, "pressure", float64(p), 0, math.MaxFloat64, "Pa"); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "volume", float64(volume), 0, math.MaxFloat64, "m³"); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "t", float64(t), lowestTemperature, highestTemperature, "K"); err != nil {
		return 0, err
	}
	return units.Amount(float64(p) * float64(volume) / (units.GasConstant * float64(t))), nil
}

// checkVolume refuses a volume that is not above 0 and finite.
func checkVolume(fn, arg string, v units.Volume) error {
	return units.CheckRange(fn, arg, float64(v), math.SmallestNonzeroFloat64, math.MaxFloat64, "m³")
}

// Temperatures that the gas formulas accept: those at which a circuit could be
// serviced with a wide margin. Nitrogen is far from liquid at all of them.
const (
	lowestTemperature  = 173.15 // K
	highestTemperature = 473.15 // K
)
