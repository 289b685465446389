package moisture

import (
	"math"
	"time"

	"example.com/drydown/units"
)

// OutgassingLaw says how the outgassing of a surface falls with time.
type OutgassingLaw int

// The laws of the vacuum-technology handbook, formulas 1-32 and 1-33. The zero
// value is none of them and is refused.
const (
	Metal     OutgassingLaw = iota + 1 // as 1/t: metal and glass
	Elastomer                          // as 1/sqrt(t): plastics and elastomers
)

// String returns "metal", "elastomer" or "unknown".
func (l OutgassingLaw) String() string {
	switch l {
	case Metal:
		return "metal"
	case Elastomer:
		return "elastomer"
	}
	return "unknown"
}

// Outgassing is the gas, mostly water, that a surface under vacuum gives off, in
// closed form: Q = AfterOneHour Area (1 h/t)^n with n 1 for metals and 1/2 for
// elastomers (vacuum-technology handbook, formulas 1-32 and 1-33). It is a rule for
// ideal pumping from the moment of evacuation, for estimates; Walls is the store
// that answers to the pressure.
type Outgassing struct {
	// Law is Metal or Elastomer; required.
	Law OutgassingLaw
	// AfterOneHour is the outgassing per area after one hour of vacuum, Pa m³/(s m²),
	// above 0. Unbaked steel: about 3e-6 (P. Chiggiato, CERN Accelerator School; from
	// memory).
	AfterOneHour float64
	// Area of the surface, m², above 0.
	Area units.Area
}

const hour = 3600.0 // s

// Check reports the first field that is missing or out of range.
func (o Outgassing) Check() error {
	c := checks{fn: "moisture.Outgassing"}
	c.within("Law", float64(o.Law), float64(Metal), float64(Elastomer), "")
	c.positive("AfterOneHour", o.AfterOneHour, "Pa m³/(s m²)")
	c.positive("Area", float64(o.Area), "m²")
	return c.err
}

// Throughput returns the gas given off in Pa·m³/s at time t after evacuation, 1 s or
// later; a RangeError otherwise.
func (o Outgassing) Throughput(t time.Duration) (units.Throughput, error) {
	if err := o.checkTimes("moisture.Outgassing.Throughput", t, t); err != nil {
		return 0, err
	}
	q := o.AfterOneHour * float64(o.Area)
	if o.Law == Metal {
		return units.Throughput(q * hour / t.Seconds()), nil
	}
	return units.Throughput(q * math.Sqrt(hour/t.Seconds())), nil
}

// Released returns the amount of gas in mol given off between two times after
// evacuation, from 1 s on, at temperature t of the gas, 200 to 500 K: the integral of
// Throughput over R t. Outside the ranges the error is a RangeError.
func (o Outgassing) Released(from, to time.Duration, t units.Temperature) (units.Amount, error) {
	const fn = "moisture.Outgassing.Released"
	if err := o.checkTimes(fn, from, to); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "t", float64(t), 200, 500, "K"); err != nil {
		return 0, err
	}
	q := o.AfterOneHour * float64(o.Area)
	rt := molarGas * float64(t)
	if o.Law == Metal {
		return units.Amount(q * hour * math.Log(to.Seconds()/from.Seconds()) / rt), nil
	}
	return units.Amount(2 * q * math.Sqrt(hour) * (math.Sqrt(to.Seconds()) - math.Sqrt(from.Seconds())) / rt), nil
}

func (o Outgassing) checkTimes(fn string, from, to time.Duration) error {
	if err := o.Check(); err != nil {
		return err
	}
	c := checks{fn: fn}
	c.within("time after evacuation", from.Seconds(), 1, math.MaxFloat64, "s")
	c.within("end", to.Seconds(), from.Seconds(), math.MaxFloat64, "s")
	return c.err
}
