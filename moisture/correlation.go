package moisture

import "example.com/drydown/units"

// Correlation is one published equation in one variable, in coherent SI. It is
// a value: make it once with the function named after its source, keep it, and
// call Eval in the hot loop. The zero value holds no equation and its Eval
// panics. It is safe for concurrent use.
type Correlation struct {
	name, source string
	arg, argUnit string
	unit         string
	lo, hi       float64
	eval         func(x float64) float64
	uncertainty  string
}

// Eval returns the equation's value at x without any check and without
// allocation. Outside Range the result is meaningless and may be NaN.
func (c Correlation) Eval(x float64) float64 { return c.eval(x) }

// Range returns the bounds of x, both inclusive, that At accepts.
func (c Correlation) Range() (lo, hi float64) { return c.lo, c.hi }

// Source names the document, edition and equation.
func (c Correlation) Source() string { return c.source }

// Uncertainty says how well the equation describes water, as its source states it
// (from memory where it says so) or as measured here against IAPWS-95; the numerical
// error of Eval is a few ulp on top.
func (c Correlation) Uncertainty() string { return c.uncertainty }

// Name is the function that makes the correlation, as "moisture.IcePressureR1408".
func (c Correlation) Name() string { return c.name }

// Units returns the units of x and of the result.
func (c Correlation) Units() (of, result string) { return c.argUnit, c.unit }

// At returns the equation's value at x, or a RangeError when x lies outside
// Range or is not a number.
func (c Correlation) At(x float64) (float64, error) {
	if err := units.CheckRange(c.name, c.arg, x, c.lo, c.hi, c.argUnit); err != nil {
		return 0, err
	}
	return c.eval(x), nil
}
