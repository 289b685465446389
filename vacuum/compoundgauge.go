package vacuum

import (
	"math"

	"example.com/drydown/units"
)

// CompoundGauge is a dial that shows the pressure against the open air, positive
// above and as a depth of vacuum below. Two things keep it from judging a deep
// vacuum. Its scale ends at the local barometer, so that a full vacuum shows
// another depth in every place and weather. And what matters there, 0 to 70 Pa
// (500 micron), is less than a thousandth of a scale that has to show 100 kPa.
type CompoundGauge struct {
	// Barometer is the local ambient pressure, Pa absolute, 2e4 to 1.2e5.
	Barometer units.Pressure
	// Division is the smallest step that can be read, Pa, 1e-3 to 5e4.
	Division units.Pressure
	// Error is the error allowed for the instrument, Pa, 0 to 5e4; zero means
	// that nothing but the division counts.
	Error units.Pressure
}

func (g CompoundGauge) check(fn string) error {
	return checkBounds(fn, bound{"Barometer", float64(g.Barometer), 2e4, 1.2e5, "Pa"},
		bound{"Division", float64(g.Division), 1e-3, 5e4, "Pa"}, bound{"Error", float64(g.Error), 0, 5e4, "Pa"})
}

// Read is what the dial shows at the absolute pressure p, 0 to 20 MPa, rounded
// to the division. In(units.InHgVacuum(1)) turns it into a depth in inches of
// mercury, In(units.KilopascalGauge) into kPa.
func (g CompoundGauge) Read(p units.Pressure) (units.GaugePressure, error) {
	const fn = "vacuum.CompoundGauge.Read"
	if err := g.check(fn); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "p", float64(p), 0, maxPressure, "Pa"); err != nil {
		return 0, err
	}
	return units.GaugePressure(math.Round(float64((p-g.Barometer)/g.Division)) * float64(g.Division)), nil
}

// Between is the span of absolute pressures, Pa, that a reading leaves open:
// half a division and the error to either side, and nothing below zero. It is
// an error when the reading lies so far below a full vacuum that no pressure
// explains it: then the barometer is wrong.
func (g CompoundGauge) Between(reading units.GaugePressure) (low, high units.Pressure, err error) {
	const fn = "vacuum.CompoundGauge.Between"
	if err := g.check(fn); err != nil {
		return 0, 0, err
	}
	slack := g.Division/2 + g.Error
	middle := reading.Absolute(g.Barometer)
	if err := units.CheckRange(fn, "reading + barometer", float64(middle), -float64(slack), maxPressure, "Pa"); err != nil {
		return 0, 0, err
	}
	return max(0, middle-slack), middle + slack, nil
}
