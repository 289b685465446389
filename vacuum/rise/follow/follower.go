package follow

import (
	"math"
	"time"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// MinReadings is how many readings a verdict needs.
const MinReadings = 12

// Config is what the readings do not say. Their noise is learnt from them.
type Config struct {
	// Volume is the isolated volume, m³, 1e-6 to 1e3.
	Volume units.Volume
	// SiteTemperature of the circuit, K, 233.15 to 373.15.
	SiteTemperature units.Temperature
	// LeakLimit is the leak that matters, Pa·m³/s, 1e-15 to 1e3.
	LeakLimit units.Throughput
	// Resolution is the gauge's smallest step, Pa, above 0. A source that adds
	// less than two steps is not called moisture.
	Resolution units.Pressure
	// Drift is the standard deviation of the unknown drift of the gas
	// temperature over the record, K, 0 to 50. Zero means that the temperature is
	// held; in rise.Options it means 1 K instead.
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
		{"Resolution", float64(c.Resolution), 1e-9, 1e5, "Pa"},
		{"Drift", float64(c.Drift), 0, 50, "K"},
	} {
		if err := units.CheckRange(fn, r.arg, r.v, r.lo, r.hi, r.unit); err != nil {
			return err
		}
	}
	return nil
}

// Follower accumulates the readings of one rise test. Make it with New: Add and
// Verdict of its zero value panic. It is not safe for concurrent use.
type Follower struct {
	cfg           Config
	saturation    float64 // vapour pressure of water at the site, at its upper bound, Pa
	saturationLow float64 // at its lower bound

	n            int
	over         int
	first        float64 // time of the first reading, s
	p0           float64 // first reading, Pa
	last         float64 // time of the latest since the first, s
	p            float64 // latest reading, Pa
	least, most  float64 // of the readings, Pa
	run, longest int     // readings of one value in a row: the present run, the longest
	melting      int     // readings near the triple point of water

	m      int           // blocks in use
	share  float64       // length of a block as a share of its scale
	blocks [Blocks]block // the readings, condensed
	w      work          // of Verdict, kept so that it needs no memory of its own
}

// siteError and gaugeError are allowed for in the saturation pressure, K and
// share.
const (
	siteError  = 1.5
	gaugeError = 0.02
)

// meltingBand is about the triple-point pressure of water, as a share of it.
const meltingBand = 0.02

// New makes a follower. It answers a RangeError for a field out of range.
func New(c Config) (*Follower, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	high, _, err := moisture.SaturationPressure(c.SiteTemperature + siteError)
	if err != nil {
		return nil, err
	}
	low, _, err := moisture.SaturationPressure(c.SiteTemperature - siteError)
	if err != nil {
		return nil, err
	}
	f := &Follower{cfg: c, saturation: float64(high) * (1 + gaugeError), saturationLow: float64(low)}
	f.w.mix.normal.fill()
	f.w.rows.decays.fill()
	return f, nil
}

// mustBeMade panics for a Follower that New has not made.
func (f *Follower) mustBeMade() {
	if f.cfg.Volume == 0 {
		panic("follow: a Follower that was not made by New")
	}
}

// Reset forgets all readings.
func (f *Follower) Reset() {
	f.n, f.over, f.m, f.share = 0, 0, 0, 0
	f.last, f.run, f.longest, f.melting = 0, 0, 0, 0
}

// Readings is the number of readings taken.
func (f *Follower) Readings() int { return f.n }

// AddOverRange counts a reading that the gauge could not give.
func (f *Follower) AddOverRange() { f.over++ }

// Add takes a reading: the time since any fixed moment, later than all before,
// and the absolute pressure, 0 to 1e6 Pa. It refuses others with a RangeError
// and stays as it was. It calls no function of mathematics and allocates
// nothing unless it refuses. At most every eighth reading it condenses, which
// takes time in proportion to Blocks.
func (f *Follower) Add(at time.Duration, p units.Pressure) error {
	const fn = "follow.Add"
	f.mustBeMade()
	t, v := float64(at)*1e-9, float64(p)
	if !(v >= 0 && v <= 1e6) {
		return units.CheckRange(fn, "p", v, 0, 1e6, "Pa")
	}
	if f.n == 0 {
		f.first, f.p0, f.least, f.most = t, v, v, v
		f.last, f.p = 0, v
	}
	t -= f.first
	if f.n > 0 && !(t > f.last) {
		return units.CheckRange(fn, "at", t+f.first, math.Nextafter(f.last+f.first, math.Inf(1)), math.Inf(1), "s")
	}
	f.least, f.most = min(f.least, v), max(f.most, v)
	if v != f.p {
		f.run = 0
	}
	f.run++
	f.longest = max(f.longest, f.run)
	if v > (1-meltingBand)*float64(moisture.TriplePressure) && v < (1+meltingBand)*float64(moisture.TriplePressure)+f.p0 {
		f.melting++
	}
	f.n++
	f.put(t, v)
	f.last, f.p = t, v
	return nil
}
