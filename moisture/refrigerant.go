package moisture

import (
	"fmt"
	"math"

	"example.com/drydown/units"
)

// Refrigerant names a refrigerant by its ASHRAE number, as "R-22".
type Refrigerant string

// Refrigerants with water solubility read in a source.
const (
	R12 Refrigerant = "R-12"
	R22 Refrigerant = "R-22"
)

// Water solubility in the liquid: ASHRAE Handbook, Refrigeration, ch. 6, Table 1, mg/kg
// from -40 to 100 °F in steps of 10 and at 160 °F. Of the table's columns only those
// of were confirmed by a second text (90 and 1300 mg/kg at 25 °C).
const solubilityRows = 16

func solubilityColumn(r Refrigerant) ([solubilityRows]float64, bool) {
	switch r {
	case R12:
		return [solubilityRows]float64{1.7, 2.5, 3.8, 5.7, 8.3, 11.8, 16.6, 23.3, 32, 44, 58, 76, 98, 128, 165, 700}, true
	case R22:
		return [solubilityRows]float64{120, 152, 195, 244, 308, 384, 472, 573, 690, 830, 970, 1140, 1350, 1580, 1800, 4100}, true
	}
	return [solubilityRows]float64{}, false
}

// solubilityTemperature is the temperature of a row in K.
func solubilityTemperature(row int) float64 {
	f := -40 + 10*float64(row)
	if row == solubilityRows-1 {
		f = 160
	}
	return (f + 459.67) / 1.8
}

// WaterSolubility returns the water that liquid refrigerant r dissolves at t, -40 to
// 160 °F, as a mass fraction: the published table (ASHRAE Handbook, Refrigeration, ch.
// 6, Table 1) with ln w linear in 1/T between its rows, which predicts a row from its
// neighbours 20 °F apart within 2.7 %. R12 and R22 have data; every
// other refrigerant is refused with ErrNoData, which is not a solubility of zero.
// Outside the temperatures the error is a RangeError.
func WaterSolubility(r Refrigerant, t units.Temperature) (units.MassFraction, error) {
	column, ok := solubilityColumn(r)
	if !ok {
		return 0, missing(fmt.Sprintf("moisture.WaterSolubility: water in %q (confirmed: %q, %q)", r, R12, R22))
	}
	lo, hi := solubilityTemperature(0), solubilityTemperature(solubilityRows-1)
	const slack = 1e-9 // K, for the conversion from °F
	if err := units.CheckRange("moisture.WaterSolubility", "t", float64(t), lo-slack, hi+slack, "K"); err != nil {
		return 0, err
	}
	row := 1
	for row < solubilityRows-1 && float64(t) > solubilityTemperature(row) {
		row++
	}
	t0, t1 := solubilityTemperature(row-1), solubilityTemperature(row)
	share := (1/float64(t) - 1/t0) / (1/t1 - 1/t0)
	ln := math.Log(column[row-1]) + share*(math.Log(column[row])-math.Log(column[row-1]))
	return units.MassFraction(1e-6 * math.Exp(ln)), nil
}

// FreeWaterInRefrigerant answers whether water content, 0 to 1 by mass, in liquid
// refrigerant r comes out when an expansion device cools it to t, and as which phase:
// the content over WaterSolubility. Solid hydrates of refrigerant and water, which can
// form above 0 °C, are left out. Errors as WaterSolubility.
func FreeWaterInRefrigerant(r Refrigerant, content units.MassFraction, t units.Temperature) (FreeWater, error) {
	if err := units.CheckRange("moisture.FreeWaterInRefrigerant", "content", float64(content), 0, 1, "kg/kg"); err != nil {
		return FreeWater{}, err
	}
	most, err := WaterSolubility(r, t)
	if err != nil {
		return FreeWater{}, err
	}
	f := FreeWater{Saturation: float64(content / most)}
	if f.Saturation > 1 {
		f.Phase = Liquid
		if t < TriplePoint {
			f.Phase = Ice
		}
	}
	return f, nil
}

// WaterLimit returns the published limit of water in new refrigerant r as a mass
// fraction: ANSI/AHRI 700-2006 with Addendum 1, Table 1B, which was read for R-427A,
// R-428A, R-430A, R-434A and R-437A (10 mg/kg each). Every other refrigerant is refused
// with ErrNoData.
func WaterLimit(r Refrigerant) (units.MassFraction, error) {
	switch r {
	case "R-427A", "R-428A", "R-430A", "R-434A", "R-437A":
		return 10 * units.MilligramPerKilogram, nil
	}
	return 0, missing(fmt.Sprintf("moisture.WaterLimit: %q", r))
}
