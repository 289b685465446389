package rise

import (
	"fmt"
	"math"
	"time"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
	"example.com/drydown/vacuum/trace"
)

// PullOptions are what a record of a falling pressure does not say.
type PullOptions struct {
	// Volume of the circuit, m³, above 0.
	Volume units.Volume
	// SiteTemperature of the circuit, K, 233.15 to 373.15.
	SiteTemperature units.Temperature
	// Target pressure, absolute, Pa, above 0.
	Target units.Pressure
	// BlankOff is the lowest pressure of the pump with fresh oil, Pa; zero means
	// unknown.
	BlankOff units.Pressure
}

// SpeedPoint is the effective pumping speed at one pressure: -V dlnp/dt, net of
// what leaks and evaporates.
type SpeedPoint struct {
	Pressure units.Pressure   // Pa, geometric mean of the stretch
	Speed    units.VolumeFlow // m³/s
	Error    units.VolumeFlow // standard error, m³/s
}

// Plateau is a stay at nearly one pressure where water can be the reason: the
// pressure fell on afterwards, or water at that pressure is no warmer than the
// site and 2 K, and no colder than the site by 40 K. A stay that is neither is the
// floor.
type Plateau struct {
	Pressure units.Pressure // Pa
	From, To time.Duration  // since the first reading
	// Water is the temperature of water that boils at that pressure, K; below
	// 273.16 K it is ice that sublimes.
	Water units.Temperature
	// Broken is true when the pressure fell on afterwards, a pause on the way.
	Broken bool
}

// Cause is why a pull-down stalls.
type Cause int

// The causes that a record of one gauge can point to.
const (
	NoCause      Cause = iota
	WaterCause         // liquid water or ice feeds vapour
	LeakCause          // gas comes in
	PumpOilCause       // the pump cannot go lower: wet or spent oil
	HoseCause          // the path to the pump is too narrow
)

// String returns the cause in words.
func (c Cause) String() string {
	names := [...]string{"none", "water", "leak", "pump oil", "hose"}
	if c >= 0 && int(c) < len(names) {
		return names[c]
	}
	return "unknown"
}

// Suspect is a cause with what speaks for it and the test that tells it apart.
type Suspect struct {
	Cause Cause
	Why   string
	Test  string
}

// Span is a time with its 95 % interval. High is -1 when no upper bound is
// known, Best as well when it is likelier than not that the time never comes, and
// Low too when that is nearly certain.
type Span struct{ Low, Best, High time.Duration }

// PullFinding is what a record of a falling pressure shows.
type PullFinding struct {
	// Speeds are effective speeds over stretches of half a decade of pressure,
	// from high to low.
	Speeds []SpeedPoint
	// FloorLow, Floor and FloorHigh are the pressure that the last third of the
	// record tends to, with its 95 % interval, Pa.
	FloorLow, Floor, FloorHigh units.Pressure
	// Plateau is the longest one, nil when there is none.
	Plateau *Plateau
	// Reached is true when the target was reached within the record, by two of
	// three readings in a row, wherever the pressure went afterwards; TimeLeft is
	// zero then.
	Reached  bool
	TimeLeft Span
	// Stalled is true when the target was not reached and lies below the floor's
	// interval.
	Stalled  bool
	Suspects []Suspect // likeliest first; empty unless stalled
	Sentence string
}

func (o PullOptions) check(fn string) error {
	for _, c := range []struct {
		arg       string
		v, lo, hi float64
		unit      string
	}{
		{"Volume", float64(o.Volume), 1e-6, 1e3, "m³"},
		{"SiteTemperature", float64(o.SiteTemperature), 233.15, 373.15, "K"},
		{"Target", float64(o.Target), 1e-3, 1e5, "Pa"},
		{"BlankOff", float64(o.BlankOff), 0, 1e5, "Pa"},
	} {
		if err := units.CheckRange(fn, c.arg, c.v, c.lo, c.hi, c.unit); err != nil {
			return err
		}
	}
	return nil
}

// InterpretPullDown reads a record of a pull-down: the effective speed against
// pressure, plateaus at which water boils or ice sublimes, the floor, the time
// left to the target, and the likely causes of a stall. The time left is
// foreseen from the last third of the record by two laws, a constant speed
// towards a floor, p = f + A exp(-t/τ), and a laminar hose, 1/p = c + k t, each
// weighted by how well it fits.
//
// It refuses a record of fewer than MinSamples usable readings, one of whose rows
// more than a quarter cannot be read (rows that hold no reading are no hindrance,
// as above the range of a gauge), one whose pressure does not fall, and times
// or pressures as Interpret does.
func InterpretPullDown(log trace.Log, o PullOptions) (PullFinding, error) {
	const fn = "rise.InterpretPullDown"
	if err := o.check(fn); err != nil {
		return PullFinding{}, err
	}
	r, err := newRecord(fn, log, 1.1e5)
	if err != nil {
		return PullFinding{}, err
	}
	if r.most(r.unreadable()) { // rows without a reading are common above the range of a gauge
		return PullFinding{}, fmt.Errorf("%s: %d of %d rows could not be read or had times that went back, accepted a quarter: %s: %w",
			fn, r.unreadable(), r.rows, r.sayLost(), units.ErrOutOfRange)
	}
	r.dropZeros()
	if len(r.p) < MinSamples {
		return PullFinding{}, fmt.Errorf("%s: %d usable readings above zero, accepted at least %d: %w", fn, len(r.p), MinSamples, units.ErrOutOfRange)
	}
	r.reduce()
	n := len(r.p)
	if first, last := median(r.p[:3]), median(r.p[n-3:]); last >= first {
		return PullFinding{}, fmt.Errorf("%s: pressure goes from %.4g to %.4g Pa, accepted a record that falls: %w", fn, first, last, units.ErrOutOfRange)
	}
	f := PullFinding{Speeds: speeds(r, float64(o.Volume))}
	f.Plateau = findPlateau(r, o.SiteTemperature)
	f.foresee(r, float64(o.Target))
	if f.Stalled {
		f.Suspects = suspects(&f, o)
	}
	f.Sentence = f.say(o, units.Pressure(median(r.p[n-3:])))
	return f, nil
}

func (r *record) dropZeros() {
	t, p := r.t[:0], r.p[:0]
	for i := range r.p {
		if r.p[i] > 0 {
			t, p = append(t, r.t[i]), append(p, r.p[i])
		}
	}
	r.t, r.p, r.second, r.temp = t, p, nil, nil
}

// speeds fits straight lines to ln p over stretches of half a decade.
func speeds(r *record, volume float64) []SpeedPoint {
	var out []SpeedPoint
	ratio := math.Sqrt(10) // half a decade
	from := 0
	for i := 1; i <= len(r.p); i++ {
		if i < len(r.p) && r.p[i] > r.p[from]/ratio {
			continue
		}
		if i-from >= 4 {
			s, e, m := logSlope(r.t[from:i], r.p[from:i])
			out = append(out, SpeedPoint{units.Pressure(m), units.VolumeFlow(-s * volume), units.VolumeFlow(e * volume)})
		}
		from = i
	}
	return out
}

// logSlope is the least-squares slope of ln p against t with its standard
// error, and the geometric mean of p.
func logSlope(t, p []float64) (slope, err, centre float64) {
	n := float64(len(t))
	tm, lm := mean(t), 0.0
	for _, v := range p {
		lm += math.Log(v) / n
	}
	var sxy, sxx float64
	for i := range t {
		sxy += (t[i] - tm) * (math.Log(p[i]) - lm)
		sxx += (t[i] - tm) * (t[i] - tm)
	}
	slope = sxy / sxx
	rest := 0.0
	for i := range t {
		e := math.Log(p[i]) - lm - slope*(t[i]-tm)
		rest += e * e
	}
	return slope, math.Sqrt(rest / max(n-2, 1) / sxx), math.Exp(lm)
}

// What counts as a plateau: a stay within plateauBand of one pressure, for at
// least plateauShare of the record, at least three times longer than the same
// ratio of pressures took just before.
const (
	plateauBand  = 0.05
	plateauShare = 0.08
)

// findPlateau looks for the longest stay between 5 Pa and 8000 Pa that the
// pressure fell into and that water can explain.
func findPlateau(r *record, site units.Temperature) *Plateau {
	var best *Plateau
	longest := plateauShare * r.duration()
	end := median(r.p[len(r.p)-3:])
	j := 0
	for i := range r.p {
		j = max(j, i)
		for j < len(r.p) && r.p[j] > r.p[i]*(1-2*plateauBand) && r.p[j] < r.p[i]*(1+2*plateauBand) {
			j++
		}
		stay := r.t[j-1] - r.t[i]
		if r.p[i] < 5 || r.p[i] > 8000 || j-i < 5 || stay < longest || (best != nil && stay == longest) || !enteredFast(r, i, stay) {
			continue
		}
		level := median(r.p[i:j])
		water, _, err := moisture.SaturationTemperature(units.Pressure(level))
		if err != nil {
			continue // outside any water
		}
		broken := j < len(r.p)-2 && end < level*(1-3*plateauBand)
		if !broken && !canHold(water, site) {
			continue // the floor of a pump
		}
		longest = stay
		best = &Plateau{Pressure: units.Pressure(level), From: seconds(r.t[i]), To: seconds(r.t[j-1]), Water: water, Broken: broken}
	}
	return best
}

// canHold reports whether water at a temperature can hold up the pressure in a
// circuit: it is not warmer than the site, and evaporation does not cool it much
// further than by 40 K.
func canHold(water, site units.Temperature) bool { return water < site+2 && water > site-40 }

// enteredFast reports whether the pressure fell by a tenth before row i in less
// than a third of the stay.
func enteredFast(r *record, i int, stay float64) bool {
	for k := i; k >= 0; k-- {
		if r.p[k] > r.p[i]*1.1 {
			return r.t[i]-r.t[k] < stay/3
		}
	}
	return false
}
