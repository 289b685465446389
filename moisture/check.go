package moisture

import (
	"math"

	"example.com/drydown/units"
)

// checks collects range checks of one value's fields and keeps the first that
// fails.
type checks struct {
	fn  string
	err error
}

// within requires lo <= v <= hi.
func (c *checks) within(arg string, v, lo, hi float64, unit string) {
	if c.err == nil {
		c.err = units.CheckRange(c.fn, arg, v, lo, hi, unit)
	}
}

// positive requires v above zero and finite.
func (c *checks) positive(arg string, v float64, unit string) {
	c.within(arg, v, math.SmallestNonzeroFloat64, math.MaxFloat64, unit)
}

// atLeastZero requires v finite and not negative.
func (c *checks) atLeastZero(arg string, v float64, unit string) {
	c.within(arg, v, 0, math.MaxFloat64, unit)
}
