package follow

import "math"

// ManySteps is how many steps of the gauge a leak at the limit must have shown
// before a record that stayed within one step is called tight.
const ManySteps = 30

// mostDrift is the standard deviation of the temperature's drift, in steps, from
// which a reading that stays within one step is no longer credible: the chance
// of that is then 20 % (the mean of 1 - |d| over -1 to 1, for d normal).
const mostDrift = 2

// ConstantRecord judges a record whose readings are all p, where step is
// the resolution of the gauge and drift the standard deviation of what the
// temperature does to the pressure over the record, all in Pa. It is explained
// when a gauge that works, in a tight circuit, would often stay within one
// step; a value that is constant to far better than the temperature allows
// comes from a gauge that is stuck, and one of at most two steps from a gauge at
// the lower end of its range. high is the largest rise by a leak that is
// compatible, Pa at 95 %: one step, and a drift against it. A step of zero is
// unknown and explains nothing.
//
// What cannot be told apart by any record is a tight circuit from a gauge that
// got stuck on a coarse display; only a change of the pressure on purpose can.
func ConstantRecord(p, step, drift float64) (high float64, explained bool) {
	return math.Hypot(step, confidenceZ*drift), step > 0 && p > 2*step && drift <= mostDrift*step
}
