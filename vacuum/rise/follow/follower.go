package follow

import (
	"math"
	"time"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// Bank is the number of time constants.
const Bank = 18

// MinReadings is how many readings a verdict needs.
const MinReadings = 12

// Config is what the readings do not say.
type Config struct {
	// Volume is the isolated volume, m³, 1e-6 to 1e3.
	Volume units.Volume
	// SiteTemperature of the circuit, K, 233.15 to 373.15.
	SiteTemperature units.Temperature
	// LeakLimit is the leak that matters, Pa·m³/s, 1e-15 to 1e3.
	LeakLimit units.Throughput
	// Interval is the usual time between readings, 1 ms to 1 h.
	Interval time.Duration
	// Longest is the longest record expected, at least 12 intervals, at most
	// 30 days; the bank of time constants reaches five times as far.
	Longest time.Duration
	// Resolution is the gauge's smallest step, Pa, above 0. A source that adds
	// less than two steps is not called moisture.
	Resolution units.Pressure
	// Noise is the standard deviation of a reading that does not depend on the
	// pressure, beside the rounding, Pa, at least 0; only the ratio of the
	// noises to one another matters, their size is learnt from the readings.
	Noise units.Pressure
	// NoiseShare is the standard deviation in proportion to the pressure, 0 to
	// 0.5.
	NoiseShare float64
	// Drift is the standard deviation of the unknown drift of the gas
	// temperature over the record, K, 0 to 50.
	Drift units.TemperatureDiff
}

func (c Config) check() error {
	const fn = "follow.New"
	for _, r := range [...]struct {
		arg       string
		v, lo, hi float64
		unit      string
	}{
		{"Volume", float64(c.Volume), 1e-6, 1e3, "m³"},
		{"SiteTemperature", float64(c.SiteTemperature), 233.15, 373.15, "K"},
		{"LeakLimit", float64(c.LeakLimit), 1e-15, 1e3, "Pa·m³/s"},
		{"Interval", c.Interval.Seconds(), 1e-3, 3600, "s"},
		{"Longest", c.Longest.Seconds(), MinReadings * c.Interval.Seconds(), 30 * 86400, "s"},
		{"Resolution", float64(c.Resolution), 1e-9, 1e5, "Pa"},
		{"Noise", float64(c.Noise), 0, 1e5, "Pa"},
		{"NoiseShare", c.NoiseShare, 0, 0.5, ""},
		{"Drift", float64(c.Drift), 0, 50, "K"},
	} {
		if err := units.CheckRange(fn, r.arg, r.v, r.lo, r.hi, r.unit); err != nil {
			return err
		}
	}
	return nil
}

// basis is one reading as the columns of all candidates, each divided by the
// reading's standard deviation.
type basis struct {
	v [4]float64       // 1, time in units of the longest record, pressure less the first, time × pressure
	b [Bank][3]float64 // 1-exp(-z), its first and second derivative by ln τ; z = t/τ
}

// sums are the products of columns that the fits need, summed over readings.
type sums struct {
	vv [4][4]float64
	bv [Bank][3][4]float64 // b[k][i]·v[j]
	bb [Bank][3][3]float64 // b[k][i]·b[k][j]
	// cross is b[k][i]·b[m][0], the products with a second, slower source.
	cross [Bank][Bank][3]float64
}

// Follower accumulates the readings of one rise test. Its zero value is not
// usable, make it with New. It is not safe for concurrent use.
type Follower struct {
	cfg        Config
	saturation float64 // greatest rise that water can cause, Pa
	tau        [Bank]float64
	logTau     [Bank]float64

	n           int
	over        int
	first, last float64 // times, s
	p0          float64 // first pressure, Pa
	least, most float64 // pressures, Pa
	head, tail  basis   // first and latest reading
	now         basis
	zero, one   sums // at lag zero and, both ways round, at lag one
}

// siteError and gaugeError are allowed for in the saturation pressure, K and
// share.
const (
	siteError  = 1.5
	gaugeError = 0.02
)

// slowest is the longest time constant told from a leak, in record lengths.
const slowest = 5

// New makes a follower. It answers a RangeError for a field out of range.
func New(c Config) (*Follower, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	p, _, err := moisture.SaturationPressure(c.SiteTemperature + siteError)
	if err != nil {
		return nil, err
	}
	f := &Follower{cfg: c, saturation: float64(p) * (1 + gaugeError)}
	lo, hi := math.Log(2*c.Interval.Seconds()), math.Log(slowest*c.Longest.Seconds())
	for k := range f.tau {
		f.logTau[k] = lo + (hi-lo)*float64(k)/(Bank-1)
		f.tau[k] = math.Exp(f.logTau[k])
	}
	return f, nil
}

// Reset forgets all readings.
func (f *Follower) Reset() {
	*f = Follower{cfg: f.cfg, saturation: f.saturation, tau: f.tau, logTau: f.logTau}
}

// Readings is the number of readings taken.
func (f *Follower) Readings() int { return f.n }

// AddOverRange counts a reading that the gauge could not give.
func (f *Follower) AddOverRange() { f.over++ }

// Add takes a reading: the time since any fixed moment, later than all before,
// and the absolute pressure, 0 to 1e6 Pa. It refuses others with a RangeError
// and stays as it was. It calls math.Exp Bank times and allocates nothing
// unless it refuses.
func (f *Follower) Add(at time.Duration, p units.Pressure) error {
	const fn = "follow.Add"
	t, v := at.Seconds(), float64(p)
	if !(v >= 0 && v <= 1e6) {
		return units.CheckRange(fn, "p", v, 0, 1e6, "Pa")
	}
	if f.n > 0 && !(t > f.last) {
		return units.CheckRange(fn, "at", t, math.Nextafter(f.last, math.Inf(1)), math.Inf(1), "s")
	}
	if f.n == 0 {
		f.first, f.p0, f.least, f.most = t, v, v, v
	}
	f.last = t
	f.n++
	f.least, f.most = min(f.least, v), max(f.most, v)
	f.columns(t-f.first, v)
	if f.n == 1 {
		f.head = f.now
	} else {
		f.one.add(&f.now, &f.tail)
		f.one.add(&f.tail, &f.now)
	}
	f.zero.add(&f.now, &f.now)
	f.tail = f.now
	return nil
}

// columns fills f.now for time t since the first reading and pressure p.
func (f *Follower) columns(t, p float64) {
	share := f.cfg.NoiseShare * p
	noise, step := float64(f.cfg.Noise), float64(f.cfg.Resolution)
	w := 1 / math.Sqrt(step*step/12+noise*noise+share*share)
	x := t / f.cfg.Longest.Seconds()
	f.now.v = [4]float64{w, w * x, w * (p - f.p0), w * x * p}
	for k := range f.tau {
		z := t / f.tau[k]
		e := math.Exp(-z)
		f.now.b[k] = [3]float64{w * (1 - e), -w * z * e, w * z * (1 - z) * e}
	}
}

// add accumulates the products of x's columns with y's.
func (s *sums) add(x, y *basis) {
	for i := range 4 {
		for j := range 4 {
			s.vv[i][j] += x.v[i] * y.v[j]
		}
	}
	for k := range Bank {
		b := &x.b[k]
		for i := range 3 {
			for j := range 4 {
				s.bv[k][i][j] += b[i] * y.v[j]
			}
			for j := range 3 {
				s.bb[k][i][j] += b[i] * y.b[k][j]
			}
		}
		for m := k + 1; m < Bank; m++ { // the second source is the slower one
			c := &s.cross[k][m]
			e := y.b[m][0]
			c[0] += b[0] * e
			c[1] += b[1] * e
			c[2] += b[2] * e
		}
	}
}
