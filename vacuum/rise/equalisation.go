package rise

import (
	"fmt"
	"math"
	"sort"
	"time"

	"example.com/drydown/units"
)

// DefaultPace is the factor by which Equalisation may run faster or slower than
// foreseen when its Pace is zero (common practice): bores are known to some per
// cent and enter to the third or fourth power.
const DefaultPace = 1.5

// Equalisation is how the reading should change after isolation because parts of
// the circuit settle with one another, as a model of the circuit foresees it:
//
//	p = p0 + A·share(t), Least ≤ A ≤ Most
//
// share is 1 - exp(-t/TimeConstant), or Shares over Times. The far side's
// pressure at isolation is what the gauge did not see, so that A is left free
// within bounds; the pace comes from the circuit, within a factor. Where the
// shape depends much on the far side's pressure, several of these with bounds
// that meet follow it better than one. A record agrees with it when the law stays
// plausible beside the others, or lies within 2 % of its change from the best of
// them. A source of vapour that happens to run at the same pace within the same
// bounds cannot be told from it: the wider they are, the less the claim is worth.
//
// PredictEqualisation makes them from a vacuum.Circuit. For two volumes V1 and V2
// behind a conductance C that hardly changes the time constant is
// V1 V2/((V1+V2) C), and A is (p2 - p1) V2/(V1+V2) at the gauge of V1.
type Equalisation struct {
	// Least and Most bound the final change of the reading, Pa, negative where it
	// falls: -1e5 to 1e5, Least below Most.
	Least, Most units.Pressure
	// TimeConstant of an exponential approach, above 0; used when Times is empty.
	TimeConstant time.Duration
	// Times since isolation, s, from 0 and increasing, at least 2, and Shares of
	// the final change reached by then, from 0, finite; linear in between. They
	// must reach to the end of the record at the fastest pace, or to a share
	// within 1 % of 1, which is then the end. Both empty means TimeConstant.
	Times, Shares []float64
	// Pace is the factor, 1 to 10, by which the settling may be faster or slower
	// than foreseen; zero means DefaultPace.
	Pace float64
	// Since is the time from isolation to the first usable reading, 0 or more.
	Since time.Duration
}

// settled is how near to 1 a last share must be for the settling to be over.
const settled = 0.01

// check refuses what is out of range and fills in the default pace.
func (e Equalisation) check(fn, arg string) (Equalisation, error) {
	if e.Pace == 0 {
		e.Pace = DefaultPace
	}
	const most = 1e5
	for _, c := range []struct {
		arg       string
		v, lo, hi float64
		unit      string
	}{
		{arg + ".Most", float64(e.Most), -most, most, "Pa"},
		{arg + ".Least", float64(e.Least), -most, math.Nextafter(float64(e.Most), -math.MaxFloat64), "Pa"},
		{arg + ".Pace", e.Pace, 1, 10, ""},
		{arg + ".Since", e.Since.Seconds(), 0, 1e7, "s"},
	} {
		if err := units.CheckRange(fn, c.arg, c.v, c.lo, c.hi, c.unit); err != nil {
			return e, err
		}
	}
	if len(e.Times) == 0 && len(e.Shares) == 0 {
		return e, units.CheckRange(fn, arg+".TimeConstant", e.TimeConstant.Seconds(), 1e-3, 1e9, "s")
	}
	return e, e.checkCurve(fn, arg)
}

func (e *Equalisation) checkCurve(fn, arg string) error {
	if len(e.Times) != len(e.Shares) || len(e.Times) < 2 {
		return fmt.Errorf("%s: %s has %d Times and %d Shares, accepted equal numbers of at least 2: %w",
			fn, arg, len(e.Times), len(e.Shares), units.ErrOutOfRange)
	}
	for i, t := range e.Times {
		least, most := 0.0, 0.0
		if i > 0 {
			least, most = math.Nextafter(e.Times[i-1], math.MaxFloat64), 1e9
		}
		if err := units.CheckRange(fn, fmt.Sprintf("%s.Times[%d]", arg, i), t, least, most, "s"); err != nil {
			return err
		}
		bound := 10.0
		if i == 0 {
			bound = 0
		}
		if err := units.CheckRange(fn, fmt.Sprintf("%s.Shares[%d]", arg, i), e.Shares[i], -bound, bound, ""); err != nil {
			return err
		}
	}
	return nil
}

// covers refuses a curve that ends before the record does.
func (e *Equalisation) covers(fn, arg string, r *record) error {
	n := len(e.Times)
	if n == 0 || len(r.t) == 0 || math.Abs(e.Shares[n-1]-1) <= settled {
		return nil
	}
	needed := (e.Since.Seconds() + r.duration()) * e.Pace
	return units.CheckRange(fn, "end of "+arg+".Times", e.Times[n-1], needed*(1-1e-9), math.MaxFloat64, "s")
}

// share of the final change at t seconds after isolation.
func (e *Equalisation) share(t float64) float64 {
	n := len(e.Times)
	if n == 0 {
		return -math.Expm1(-t / e.TimeConstant.Seconds())
	}
	if t >= e.Times[n-1] {
		return e.Shares[n-1]
	}
	i := max(sort.SearchFloat64s(e.Times, t), 1)
	return e.Shares[i-1] + (e.Shares[i]-e.Shares[i-1])*(t-e.Times[i-1])/(e.Times[i]-e.Times[i-1])
}

// column is the share at t less the one at from, both in s since the first
// usable reading, when the settling is slower than foreseen by pace.
func (e *Equalisation) column(t, from, pace float64) float64 {
	since := e.Since.Seconds()
	return e.share((since+t)/pace) - e.share((since+from)/pace)
}
