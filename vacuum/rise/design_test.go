package rise_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
)

var plan = rise.Plan{
	Volume: 8 * units.Litre, Start: 40, SiteTemperature: units.Celsius(20),
	Gauge:    rise.Gauge{Resolution: units.Micron, Noise: 0.1},
	Interval: 5 * time.Second, Duration: 15 * time.Minute,
}

const (
	z95 = 1.6448536269514722 // standard normal quantile of 0.95 (Abramowitz and Stegun table 26.5: 1.64485)
)

// cramerRao is the bound on the leak's standard error in Pa/s, independent of
// the package: the full information matrix over every reading, each with the
// noise at its pressure, gradients by central differences of the stated law, a
// prior on the drift, inverted by LU.
func cramerRao(p rise.Plan) float64 {
	theta := []float64{float64(p.Start), 0}
	for _, s := range p.Sources {
		theta = append(theta, float64(s.Rise), s.Time.Seconds())
	}
	law := func(x []float64, t float64) float64 {
		sum := x[0] + x[1]*t
		for i := 2; i < len(x); i += 2 {
			sum += x[i] * (1 - math.Exp(-t/x[i+1]))
		}
		return sum
	}
	k := len(theta)
	size := k
	if p.Drift > 0 {
		size++
	}
	info := mat.NewDense(size, size, nil)
	for n := 0; float64(n)*p.Interval.Seconds() <= p.Duration.Seconds()+1e-9; n++ {
		t := float64(n) * p.Interval.Seconds()
		pressure := law(theta, t)
		variance := math.Pow(float64(p.Gauge.Resolution), 2)/12 + math.Pow(math.Hypot(float64(p.Gauge.Noise), p.Gauge.NoiseShare*pressure), 2)
		g := make([]float64, size)
		for i := range k {
			h := 1e-6 * math.Max(math.Abs(theta[i]), 1)
			up, down := append([]float64(nil), theta...), append([]float64(nil), theta...)
			up[i] += h
			down[i] -= h
			g[i] = (law(up, t) - law(down, t)) / (2 * h)
		}
		if size > k {
			g[k] = pressure / float64(p.SiteTemperature) * (t/p.Duration.Seconds() - 0.5)
		}
		for i := range g {
			for j := range g {
				info.Set(i, j, info.At(i, j)+g[i]*g[j]/variance)
			}
		}
	}
	if size > k {
		info.Set(k, k, info.At(k, k)+1/math.Pow(float64(p.Drift), 2))
	}
	scale := make([]float64, size) // a unit diagonal, for the inverse's sake
	for i := range scale {
		scale[i] = 1 / math.Sqrt(info.At(i, i))
	}
	info.Apply(func(i, j int, v float64) float64 { return v * scale[i] * scale[j] }, info)
	var inverse mat.Dense
	if err := inverse.Inverse(info); err != nil {
		return math.NaN()
	}
	return math.Sqrt(inverse.At(1, 1)) * scale[1]
}

// The design agrees with the Cramér-Rao bound computed independently, also where
// the sources bring the pressure, and with it noise and drift, far above the start,
// and where they are over long before the record ends.
func TestSmallestLeakIsCramerRao(t *testing.T) {
	bright := rise.Plan{ // gas that comes in multiplies the start pressure
		Volume: 10 * units.Litre, Start: 20, SiteTemperature: units.Celsius(20), Gauge: rise.Gauge{Resolution: units.Micron, Noise: 0.1},
		Interval: 5 * time.Second, Duration: 40 * time.Minute, Sources: []rise.Source{{500, 5 * time.Minute}},
	}
	with := func(p rise.Plan, change func(*rise.Plan)) rise.Plan { change(&p); return p }
	sources := func(s ...rise.Source) rise.Plan { return with(plan, func(p *rise.Plan) { p.Sources = s }) }
	day := func(s ...rise.Source) rise.Plan {
		return with(sources(s...), func(p *rise.Plan) { p.Interval, p.Duration = time.Second, 24*time.Hour })
	}
	for name, p := range map[string]rise.Plan{
		"none":                 plan,
		"none, drift":          with(plan, func(p *rise.Plan) { p.Drift = 1 }),
		"none, share":          with(plan, func(p *rise.Plan) { p.Gauge.NoiseShare = 0.005 }),
		"fast":                 sources(rise.Source{50, 2 * time.Minute}),
		"slow":                 sources(rise.Source{50, 10 * time.Minute}),
		"two":                  sources(rise.Source{50, time.Minute}, rise.Source{20, 6 * time.Minute}),
		"bright":               bright,
		"bright, share":        with(bright, func(p *rise.Plan) { p.Gauge.NoiseShare = 0.005 }),
		"bright, drift":        with(bright, func(p *rise.Plan) { p.Drift = 1 }),
		"bright, share, drift": with(bright, func(p *rise.Plan) { p.Gauge.NoiseShare, p.Drift = 0.005, 1 }),
		"day, two fast":        day(rise.Source{10, 20 * time.Second}, rise.Source{10, time.Minute}),
		"day, within a second": day(rise.Source{10, 300 * time.Millisecond}),
	} {
		got, err := p.SmallestLeak()
		require.NoError(t, err, name)
		want := 2 * z95 * cramerRao(p) * float64(p.Volume)
		require.InEpsilon(t, want, float64(got.Leak), 0.001, name)
		require.InDelta(t, 1, got.NoiseShare+got.DriftShare+got.SourceShare+got.RoundingShare, 1e-9, name)
		for _, share := range []float64{got.NoiseShare, got.DriftShare, got.SourceShare, got.RoundingShare} {
			require.GreaterOrEqual(t, share, 0.0, name)
		}
		require.Equal(t, p.Drift > 0, got.DriftShare > 0, name)
		require.Equal(t, len(p.Sources) > 0, got.SourceShare > 0, name)
	}
}

// Sources that the readings cannot tell apart are an error, and no answer is
// infinite; one that is over before the second reading costs the first reading.
func TestSourcesThatCannotBeTold(t *testing.T) {
	p := plan
	p.Sources = []rise.Source{{50, time.Minute}, {20, time.Minute}}
	_, err := p.SmallestLeak()
	require.ErrorIs(t, err, rise.ErrCannotDecide)
	require.ErrorContains(t, err, "rise.Plan.SmallestLeak: readings every 5s for 15m0s cannot tell")
	_, err = p.DurationFor(1e-6)
	require.ErrorIs(t, err, rise.ErrCannotDecide)
	require.NotContains(t, err.Error(), "Inf")

	p.Sources = []rise.Source{{50, time.Millisecond}}
	got, err := p.SmallestLeak()
	require.NoError(t, err)
	n := 180.0 // one fewer than the record holds
	s := math.Sqrt(math.Pow(float64(units.Micron), 2)/12+0.01) * math.Sqrt(12/(n*(n*n-1))) / 5
	require.InEpsilon(t, 2*z95*s*8e-3, float64(got.Leak), 1e-6)
}

// A leak that takes weeks has a duration beside a short source, and what is
// answered is kept.
func TestDurationForBesideAShortSource(t *testing.T) {
	p := plan
	p.Sources = []rise.Source{{10, 5 * time.Second}}
	d, err := p.DurationFor(3e-11)
	require.NoError(t, err)
	p.Duration = d
	got, err := p.SmallestLeak()
	require.NoError(t, err)
	require.InEpsilon(t, 3e-11, float64(got.Leak), 0.002)
}

// No answer is longer than SmallestLeak accepts.
func TestDurationForUpToAMonth(t *testing.T) {
	p := plan
	p.Duration = 30 * 24 * time.Hour
	most, err := p.SmallestLeak()
	require.NoError(t, err)
	for _, share := range []float64{0.9, 0.95, 0.99, 1.001, 1.05} {
		d, err := p.DurationFor(most.Leak * units.Throughput(share))
		if share < 1 {
			require.ErrorIs(t, err, rise.ErrCannotDecide, "%g", share)
			continue
		}
		require.NoError(t, err, "%g", share)
		require.LessOrEqual(t, d, 30*24*time.Hour, "%g", share)
	}
	p.Interval = 10 * 24 * time.Hour
	_, err = p.DurationFor(1)
	require.ErrorIs(t, err, rise.ErrCannotDecide)
}

// Without sources the bound is σ √(12/(n(n²-1)))/Δ: n = 181, Δ = 5 s,
// σ² = 0.133322²/12 + 0.01 gives s = 1.5355e-5 Pa/s (by hand), times
// 2·1.64485·8 L = 4.041e-7 Pa·m³/s.
func TestSmallestLeakClosedForm(t *testing.T) {
	got, err := plan.SmallestLeak()
	require.NoError(t, err)
	n := 181.0
	s := math.Sqrt(0.13332236842105263*0.13332236842105263/12+0.01) * math.Sqrt(12/(n*(n*n-1))) / 5
	require.InEpsilon(t, 2*1.6448536*s*8e-3, float64(got.Leak), 1e-6)
}

// An error rate promised is an error rate kept: plain least-squares slopes of
// simulated records exceed the false-alarm threshold and miss the smallest leak
// as often as stated (binomial error of 4000 draws: 3 sigma is 1 %).
func TestErrorRates(t *testing.T) {
	got, err := plan.SmallestLeak()
	require.NoError(t, err)
	sigma := math.Sqrt(math.Pow(float64(units.Micron), 2)/12 + 0.01)
	threshold := float64(got.Leak) / 2 // both rates are 5 %
	r := rand.New(rand.NewPCG(11, 1))
	alarms, missed := 0, 0
	const draws = 4000
	for range draws {
		if slopeOf(r, 0, sigma)*8e-3 > threshold {
			alarms++
		}
		if slopeOf(r, float64(got.Leak)/8e-3, sigma)*8e-3 < threshold {
			missed++
		}
	}
	require.InDelta(t, 0.05, float64(alarms)/draws, 0.0105)
	require.InDelta(t, 0.05, float64(missed)/draws, 0.0105)
}

func slopeOf(r *rand.Rand, rate, sigma float64) float64 {
	var sxy, sxx float64
	for i := range 181 {
		x := 5*float64(i) - 450
		sxx += x * x
		sxy += x * (rate*x + sigma*r.NormFloat64())
	}
	return sxy / sxx
}

func TestDurationForInvertsSmallestLeak(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := plan
		p.Drift = units.TemperatureDiff(rapid.Float64Range(0, 2).Draw(t, "drift"))
		p.Gauge.CorrelationTime = time.Duration(rapid.IntRange(0, 60).Draw(t, "correlation")) * time.Second
		if rapid.Bool().Draw(t, "vapour") {
			p.Sources = []rise.Source{{units.Pressure(rapid.Float64Range(1, 500).Draw(t, "B")), time.Duration(rapid.IntRange(60, 3600).Draw(t, "tau")) * time.Second}}
		}
		limit := units.Throughput(math.Pow(10, rapid.Float64Range(-7, -4).Draw(t, "limit")))
		d, err := p.DurationFor(limit)
		if err != nil {
			t.Fatal(err)
		}
		p.Duration = d
		got, err := p.SmallestLeak()
		if err != nil {
			t.Fatal(err)
		}
		if got.Leak > limit*1.002 {
			t.Fatalf("after %v the smallest leak is %v, wanted %v", d, got.Leak, limit)
		}
		if d < 2*time.Minute {
			return // the shortest record decides already
		}
		p.Duration = time.Duration(float64(d) * 0.98)
		if got, err = p.SmallestLeak(); err != nil || got.Leak < limit {
			t.Fatalf("a shorter record of %v sees %v already (%v)", p.Duration, got.Leak, err)
		}
	})
}

func TestSamplingAndStart(t *testing.T) {
	p := plan
	p.Gauge.CorrelationTime = 30 * time.Second
	slow, err := p.SlowestSampling(0.05)
	require.NoError(t, err)
	require.Greater(t, slow, 15*time.Second, "readings much faster than the noise add little")
	p.Gauge.CorrelationTime = 0
	white, err := p.SlowestSampling(0.05)
	require.NoError(t, err)
	require.InEpsilon(t, 5*1.05*1.05, white.Seconds(), 0.02, "white noise: the error goes with the root of the interval")

	p = plan
	p.Gauge = rise.Gauge{NoiseShare: 0.01}
	at, err := p.SmallestLeak()
	require.NoError(t, err)
	start, err := p.HighestStart(at.Leak / 2)
	require.NoError(t, err)
	require.InEpsilon(t, 20, float64(start), 1e-6, "noise in proportion to pressure: half the leak at half the pressure")
	p.Sources, p.Drift = []rise.Source{{500, 5 * time.Minute}}, 1
	_, err = p.HighestStart(1e-9)
	require.ErrorIs(t, err, rise.ErrCannotDecide, "the source brings its own noise and drift")
	p.Sources, p.Drift = nil, 0
	_, err = p.HighestStart(units.Throughput(math.NaN()))
	require.ErrorIs(t, err, units.ErrOutOfRange)
	p.Gauge = rise.Gauge{Noise: 1}
	_, err = p.HighestStart(1e-12)
	require.ErrorIs(t, err, rise.ErrCannotDecide)
	_, err = p.DurationFor(1e-14)
	require.ErrorIs(t, err, rise.ErrCannotDecide)
}

// Rounding that no reading averages out: a gauge of 10 micron steps and little
// noise cannot see a rise below a step, whatever the number of readings. The
// error of the difference of two ends, simulated over random starts, is the
// formula's to 15 %.
func TestRoundingError(t *testing.T) {
	p := plan
	p.Gauge = rise.Gauge{Resolution: 10 * units.Micron, Noise: 0.01}
	p.Interval = time.Second
	got, err := p.SmallestLeak()
	require.NoError(t, err)
	require.Greater(t, got.RoundingShare, 0.9)
	step := float64(10 * units.Micron)
	for _, scatter := range []float64{0, 0.2, 0.4} { // of a step
		r := rand.New(rand.NewPCG(3, 3))
		sum, sum2 := 0.0, 0.0
		const draws, rows = 2000, 400
		for range draws {
			ends := [2]float64{}
			for e := range ends {
				truth := r.Float64()
				for range rows {
					ends[e] += (math.Round(truth+scatter*r.NormFloat64()) - truth) / rows
				}
			}
			d := (ends[1] - ends[0]) * step
			sum += d
			sum2 += d * d
		}
		sd := math.Sqrt(sum2/draws - sum*sum/draws/draws)
		white := step * math.Sqrt((1.0/12+scatter*scatter)*2/rows)
		want := step / math.Sqrt(6) * math.Exp(-2*math.Pi*math.Pi*scatter*scatter)
		require.InDelta(t, want, sd, 0.15*want+white, "scatter %g", scatter)
	}
}

func TestPlanRefuses(t *testing.T) {
	for name, change := range map[string]func(*rise.Plan){
		"Volume":          func(p *rise.Plan) { p.Volume = 0 },
		"Gauge":           func(p *rise.Plan) { p.Gauge = rise.Gauge{} },
		"Interval":        func(p *rise.Plan) { p.Interval = 0 },
		"Duration":        func(p *rise.Plan) { p.Duration = time.Second },
		"FalseAlarm":      func(p *rise.Plan) { p.FalseAlarm = math.NaN() },
		"Sources[0].Time": func(p *rise.Plan) { p.Sources = []rise.Source{{1, 0}} },
		"Drift":           func(p *rise.Plan) { p.Drift = -1 },
	} {
		p := plan
		change(&p)
		_, err := p.SmallestLeak()
		require.ErrorIs(t, err, units.ErrOutOfRange, name)
		require.ErrorContains(t, err, name)
	}
}
