package rise

import (
	"errors"
	"fmt"
	"math"
	"time"

	"example.com/drydown/units"
)

// Gauge is how a pressure gauge scatters.
type Gauge struct {
	// Resolution is the smallest step, Pa, at least 0. Rounding adds a variance
	// of a twelfth of its square to each reading and, when the noise is below
	// about half a step, an error that no number of readings averages out.
	Resolution units.Pressure
	// Noise is the standard deviation of a reading that does not depend on the
	// pressure, Pa, at least 0.
	Noise units.Pressure
	// NoiseShare is the standard deviation in proportion to the pressure, 0 to
	// 0.5.
	NoiseShare float64
	// CorrelationTime is how long the noise lasts: readings a time d apart
	// correlate as exp(-d/CorrelationTime); zero means white noise.
	CorrelationTime time.Duration
}

// sigma is the standard deviation of one reading at pressure p, Pa.
func (g Gauge) sigma(p float64) float64 {
	return math.Hypot(float64(g.Resolution)/math.Sqrt(12), g.scatter(p))
}

// scatter is the same before rounding.
func (g Gauge) scatter(p float64) float64 { return math.Hypot(float64(g.Noise), g.NoiseShare*p) }

// phi is the correlation of readings a time apart.
func (g Gauge) phi(apart time.Duration) float64 {
	if g.CorrelationTime <= 0 {
		return 0
	}
	return math.Exp(-apart.Seconds() / g.CorrelationTime.Seconds())
}

// Source is a source that fades: B (1 - exp(-t/τ)).
type Source struct {
	Rise units.Pressure // B, Pa, above 0
	Time time.Duration  // τ, above 0
}

// Plan is a rise test before it is run.
type Plan struct {
	Volume          units.Volume      // isolated, m³, above 0
	Start           units.Pressure    // absolute, Pa, at least 0
	SiteTemperature units.Temperature // K, 200 to 400
	Gauge           Gauge
	Interval        time.Duration // between readings, above 0
	Duration        time.Duration // at least MinSamples readings
	// Drift is the standard deviation of the unknown temperature drift over the
	// record, K, at least 0; zero means the temperature is recorded or constant.
	Drift units.TemperatureDiff
	// FalseAlarm is the probability of calling a tight circuit leaking, and
	// Missed that of missing the leak, each 1e-6 to 0.5; zero means 0.05.
	FalseAlarm, Missed float64
	// Sources are vapours expected beside the leak, at most two; the test must
	// find their amplitude and time constant too.
	Sources []Source
}

func (p Plan) check(fn string) (Plan, error) {
	if p.FalseAlarm == 0 {
		p.FalseAlarm = 0.05
	}
	if p.Missed == 0 {
		p.Missed = 0.05
	}
	type row struct {
		arg       string
		v, lo, hi float64
		unit      string
	}
	rows := []row{
		{"Volume", float64(p.Volume), 1e-6, 1e3, "m³"},
		{"Start", float64(p.Start), 0, 1e7, "Pa"},
		{"SiteTemperature", float64(p.SiteTemperature), 200, 400, "K"},
		{"Gauge.Resolution", float64(p.Gauge.Resolution), 0, 1e6, "Pa"},
		{"Gauge.Noise", float64(p.Gauge.Noise), 0, 1e6, "Pa"},
		{"Gauge.NoiseShare", p.Gauge.NoiseShare, 0, 0.5, ""},
		{"Gauge.CorrelationTime", p.Gauge.CorrelationTime.Seconds(), 0, longestWatch, "s"},
		{"Interval", p.Interval.Seconds(), 1e-6, longestWatch, "s"},
		{"Drift", float64(p.Drift), 0, 50, "K"},
		{"FalseAlarm", p.FalseAlarm, 1e-6, 0.5, ""},
		{"Missed", p.Missed, 1e-6, 0.5, ""},
		{"number of Sources", float64(len(p.Sources)), 0, 2, ""},
	}
	for i, s := range p.Sources {
		rows = append(
			rows,
			row{fmt.Sprintf("Sources[%d].Rise", i), float64(s.Rise), 1e-6, 1e6, "Pa"},
			row{fmt.Sprintf("Sources[%d].Time", i), s.Time.Seconds(), 1e-3, longestWatch, "s"},
		)
	}
	for _, r := range rows {
		if err := units.CheckRange(fn, r.arg, r.v, r.lo, r.hi, r.unit); err != nil {
			return p, err
		}
	}
	if p.Gauge.sigma(float64(p.Start)) == 0 {
		return p, fmt.Errorf("%s: Gauge has no resolution and no noise, accepted at least one above 0: %w", fn, units.ErrOutOfRange)
	}
	return p, nil
}

// Detectable is what a test can see.
type Detectable struct {
	// Leak is the smallest leak that is told from zero with the plan's
	// probabilities, Pa·m³/s.
	Leak units.Throughput
	// NoiseShare, DriftShare and SourceShare say where the error's square comes
	// from: what the gauge alone would leave, what the sources add that must be
	// fitted beside the leak, and what the temperature drift adds to both.
	NoiseShare, DriftShare, SourceShare float64
	// RoundingShare is the part of the gauge's steps that readings do not
	// average out; all four shares add up to 1.
	RoundingShare float64
}

// ErrCannotDecide marks a plan that no duration up to 30 days makes good enough,
// or whose readings cannot tell its sources from the leak or from each other.
var ErrCannotDecide = errors.New("no duration decides")

// SmallestLeak is the smallest leak that the plan can tell from zero: with the
// standard error s of the leak from Fisher information (the Cramér-Rao bound for
// start, leak, sources and a linear drift of the temperature all unknown) and from
// rounding,
//
//	Q = (z(1-FalseAlarm) + z(1-Missed)) s V
//
// one-sided. Noise and drift are those at the pressure that Start and Sources
// bring, which the leak adds nothing to; what rounding leaves is that at Start.
// For white noise and no sources s is the closed form σ √(12/(n (n²-1)))/Interval
// with n readings. ErrCannotDecide comes back when the readings cannot tell the
// sources from the leak or from each other: two with one time constant, or much
// slower than Duration.
func (p Plan) SmallestLeak() (Detectable, error) {
	const fn = "rise.Plan.SmallestLeak"
	p, err := p.check(fn)
	if err != nil {
		return Detectable{}, err
	}
	least := p.Interval.Seconds() * (MinSamples - 1)
	if err := units.CheckRange(fn, "Duration", p.Duration.Seconds(), least*(1-1e-9), longestWatch, "s"); err != nil {
		return Detectable{}, err
	}
	return p.detectable(fn)
}

// detectable is SmallestLeak without checks, for function fn.
func (p Plan) detectable(fn string) (Detectable, error) {
	v, ok := p.watch().leakVariance()
	if !ok {
		return Detectable{}, fmt.Errorf("%s: readings every %v for %v cannot tell the sources from the leak or from each other: %w",
			fn, p.Interval, p.Duration, ErrCannotDecide)
	}
	round := roundingError(float64(p.Gauge.Resolution), p.Gauge.scatter(float64(p.Start))) / p.Duration.Seconds()
	total := v.noise + v.sources + v.drift + round*round
	z := normalQuantile(1-p.FalseAlarm) + normalQuantile(1-p.Missed)
	return Detectable{
		Leak:       units.Throughput(z * math.Sqrt(total) * float64(p.Volume)),
		NoiseShare: v.noise / total, DriftShare: v.drift / total, SourceShare: v.sources / total,
		RoundingShare: round * round / total,
	}, nil
}

// sees is true when the plan, which was checked, tells a leak of limit from zero.
func (p Plan) sees(limit units.Throughput) bool {
	d, err := p.detectable("")
	return err == nil && d.Leak <= limit
}

func (p Plan) watch() watch {
	w := watch{
		duration: p.Duration.Seconds(), step: p.Interval.Seconds(), phi: p.Gauge.phi(p.Interval),
		sigma: p.Gauge.sigma(0), share: p.Gauge.NoiseShare, start: float64(p.Start),
		drift: float64(p.Drift) / float64(p.SiteTemperature),
	}
	for _, s := range p.Sources {
		w.tau, w.rise = append(w.tau, s.Time.Seconds()), append(w.rise, float64(s.Rise))
	}
	return w
}

// DurationFor is the shortest duration at which the plan sees a leak of limit
// (Pa·m³/s, 1e-15 to 1e3), to 0.1 %; p.Duration is not read. ErrCannotDecide comes
// back when 30 days are not enough.
func (p Plan) DurationFor(limit units.Throughput) (time.Duration, error) {
	const fn = "rise.Plan.DurationFor"
	p, err := p.check(fn)
	if err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "limit", float64(limit), 1e-15, 1e3, "Pa·m³/s"); err != nil {
		return 0, err
	}
	shortest := p.Interval.Seconds() * (MinSamples - 1)
	d, ok := shortestDuration(shortest, func(d float64) bool {
		p.Duration = seconds(d)
		return p.sees(limit)
	})
	if !ok && shortest > longestWatch {
		return 0, fmt.Errorf("%s: %d readings every %v take longer than 30 days: %w", fn, MinSamples, p.Interval, ErrCannotDecide)
	}
	if !ok {
		p.Duration = longestWatch * time.Second
		still, err := p.detectable(fn)
		if err != nil {
			return 0, err
		}
		return 0, fmt.Errorf("%s: after 30 days the smallest leak is still %.3g Pa·m³/s, the limit %.3g: %w",
			fn, float64(still.Leak), float64(limit), ErrCannotDecide)
	}
	return seconds(d), nil
}

// SlowestSampling is the longest interval between readings, at least
// p.Interval, that makes the smallest leak at most a share loss (0.001 to 1)
// larger than readings every p.Interval do. With noise that lasts, faster
// readings gain little.
func (p Plan) SlowestSampling(loss float64) (time.Duration, error) {
	const fn = "rise.Plan.SlowestSampling"
	if err := units.CheckRange(fn, "loss", loss, 0.001, 1, ""); err != nil {
		return 0, err
	}
	best, err := p.SmallestLeak()
	if err != nil {
		return 0, err
	}
	p, _ = p.check(fn) // checked by SmallestLeak
	lo, hi := p.Interval, time.Duration(float64(p.Duration)/(MinSamples-1))
	for range 40 {
		mid := lo + (hi-lo)/2
		p.Interval = mid
		if p.sees(best.Leak * units.Throughput(1+loss)) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo, nil
}

// HighestStart is the highest start pressure, Pa, from which the plan still
// sees a leak of limit (Pa·m³/s, 1e-15 to 1e3): deeper is better whenever noise or
// drift grow with pressure. ErrCannotDecide comes back when even a start at zero is
// not good enough; an answer of p.Start means that p.Start is low enough, and only
// pressures up to it are looked at.
func (p Plan) HighestStart(limit units.Throughput) (units.Pressure, error) {
	const fn = "rise.Plan.HighestStart"
	if err := units.CheckRange(fn, "limit", float64(limit), 1e-15, 1e3, "Pa·m³/s"); err != nil {
		return 0, err
	}
	at, err := p.SmallestLeak()
	if err != nil {
		return 0, err
	}
	if at.Leak <= limit {
		return p.Start, nil
	}
	p, _ = p.check(fn) // checked by SmallestLeak
	lo, hi := units.Pressure(0), p.Start
	if p.Gauge.sigma(0) == 0 {
		lo = p.Start * 0x1p-60 // a gauge without any noise at zero has no error to foresee there
	}
	p.Start = lo
	if !p.sees(limit) {
		still, err := p.detectable(fn)
		if err != nil {
			return 0, err
		}
		return 0, fmt.Errorf("%s: from a perfect vacuum the smallest leak is still %.3g Pa·m³/s, the limit %.3g: %w",
			fn, float64(still.Leak), float64(limit), ErrCannotDecide)
	}
	for range 60 {
		mid := (lo + hi) / 2
		p.Start = mid
		if p.sees(limit) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo, nil
}
