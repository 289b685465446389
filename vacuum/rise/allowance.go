package rise

import (
	"fmt"
	"math"
	"strings"

	"example.com/drydown/units"
)

// allowanceZ is how many standard deviations of an unknown change of temperature
// are allowed for; common practice, 95 %.
const allowanceZ = 1.959963984540054

// windows are the last parts of a record, as shares, over which a leak that the
// temperature hides is looked for: over the whole, gas that cools after filling
// looks like more leak than there is, over a short part the temperature hides more.
var windows = [...]float64{1, 3.0 / 4, 1.0 / 2, 1.0 / 3, 1.0 / 4}

// allowForTemperature widens the interval of the leak by what a change of the
// gas temperature could do, whatever its course: the fits allow for a linear one
// only. A change that is allowed for brings the pressure up or down by no more
// than allowed between any two times, so that the leak is at least the whole fall
// less that much, and at most the fall over a last part and that much, spread
// over the part.
func (j *judge) allowForTemperature() {
	s := j.fits.sys
	curve := s.residuals(&j.best) // to be the fall of the pressure, drift and all
	n := len(curve)
	for i := range curve {
		curve[i] = s.y[i] - curve[i]
	}
	j.fall = curve[n-1] - curve[0]
	j.allowed = allowanceZ * j.drift
	if j.allowed <= 0 {
		return
	}
	lo, hi := j.fall-j.allowed, math.Inf(1)
	for _, w := range windows {
		from := 0
		for from < n-1 && s.t[from] < (1-w)*s.dur {
			from++
		}
		hi = min(hi, (curve[n-1]-curve[from]+j.allowed)/w)
	}
	limit := float64(j.o.LeakLimit) * s.dur / j.volume
	j.masked = j.lo > 0 && lo <= 0 || j.hi < limit && hi >= limit
	j.lo, j.hi = min(j.lo, lo), max(j.hi, hi)
	flow := func(rise float64) units.Throughput { return units.Throughput(max(rise, 0) * j.volume / s.dur) }
	j.f.Leak.Low, j.f.Leak.High = flow(j.lo), flow(j.hi)
	j.f.Falling = j.hi < 0
}

// equivalent is the change of the gas temperature that would explain the whole
// change of the pressure, K.
func (j *judge) equivalent() units.TemperatureDiff {
	return units.TemperatureDiff(-j.fall * float64(j.o.SiteTemperature) / float64(j.f.Record.First))
}

// sayTemperature says what the temperature may have done to the pressure.
func (j *judge) sayTemperature() string {
	gaps := j.r.gaps[0]
	if j.allowed <= 0 && j.r.temp != nil {
		return gaps
	}
	unknown := "no temperature was recorded"
	if gaps != "" {
		unknown = gaps
	}
	kelvin := allowanceZ * max(float64(j.o.Drift), 0)
	text := fmt.Sprintf("the pressure changed by %.3g %%, as it would if the gas became %.2g K %s",
		-100*j.fall/float64(j.f.Record.First), math.Abs(float64(j.equivalent())), warmer(j.fall))
	switch {
	case j.r.temp == nil && kelvin == 0:
		return text + "; " + unknown + ", and no change of it is allowed for"
	case j.r.temp == nil:
		return fmt.Sprintf("%s; %s, changes up to %.2g K are allowed for", text, unknown, kelvin)
	}
	if gaps != "" {
		text = gaps + "; " + text
	}
	return fmt.Sprintf("%s than was recorded; errors of the thermometer up to %.2g K are allowed for", text, kelvin)
}

func warmer(fall float64) string {
	if fall < 0 {
		return "warmer"
	}
	return "colder"
}

// withTemperature adds to a sentence of a standing test what the temperature may
// have done.
func (j *judge) withTemperature(text string) string {
	if more := j.sayTemperature(); more != "" {
		return text + " " + strings.ToUpper(more[:1]) + more[1:] + "."
	}
	return text
}
