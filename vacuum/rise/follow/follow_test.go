package follow_test

import (
	"math"
	"math/rand/v2"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise/follow"
)

var cfg = follow.Config{
	Volume: 8 * units.Litre, SiteTemperature: units.Celsius(20),
	LeakLimit:  units.Throughput(float64(units.Micron) / 60 * 8e-3), // 1 micron/min
	Resolution: 0.01,
}

func run(t *testing.T, c follow.Config, rows int, sd float64, law func(t float64) float64) *follow.Follower {
	t.Helper()
	return runStream(t, c, rows, sd, law, 3)
}

func runStream(t *testing.T, c follow.Config, rows int, sd float64, law func(t float64) float64, stream uint64) *follow.Follower {
	t.Helper()
	f, err := follow.New(c)
	require.NoError(t, err)
	r := rand.New(rand.NewPCG(stream, 2))
	for i := range rows {
		at := 5 * float64(i)
		require.NoError(t, f.Add(time.Duration(at*1e9), units.Pressure(law(at)+sd*r.NormFloat64())))
	}
	return f
}

// In 20 records of each kind no verdict is wrong, and most are given.
func TestVerdicts(t *testing.T) {
	fade := func(b, tau float64) func(float64) float64 {
		return func(t float64) float64 { return 40 - b*math.Expm1(-t/tau) }
	}
	for _, c := range []struct {
		name string
		law  func(float64) float64
		want follow.Verdict
	}{
		{"tight", func(float64) float64 { return 40 }, follow.Tight},
		{"leak", func(t float64) float64 { return 40 + 0.02*t }, follow.Leak},
		{"moisture", fade(60, 80), follow.Moisture},
		{"leak and moisture", func(t float64) float64 { return fade(60, 80)(t) + 0.05*t }, follow.LeakAndMoisture},
		{"settling", fade(-15, 80), follow.Equalising},
		{"slow", fade(200, 9000), follow.Undetermined},
	} {
		right := 0
		for stream := range uint64(20) {
			switch s := runStream(t, cfg, 480, 0.1, c.law, stream).Verdict(); s.Verdict {
			case c.want:
				right++
			case follow.Undetermined:
				require.NotEqual(t, follow.Decided, s.Reason)
			default:
				t.Errorf("%s: %+v", c.name, s)
			}
		}
		require.Greater(t, right, 10, c.name)
	}
}

// The leak is V dp/dt: 0.02 Pa/s in 8 L is 1.6e-4 Pa·m³/s (by hand).
func TestLeakRate(t *testing.T) {
	s := run(t, cfg, 240, 0.1, func(t float64) float64 { return 40 + 0.02*t }).Verdict()
	require.InEpsilon(t, 1.6e-4, float64(s.Best), 0.01)
	require.Less(t, s.Low, s.Best)
	require.Less(t, s.Best, s.High)
}

// A time constant between two of the bank is found as well as one of them: the
// series about the nearest is exact to 0.2 % of the amplitude.
func TestTimeConstantBetweenBankValues(t *testing.T) {
	for _, tau := range []float64{60, 75, 93, 110, 140} {
		s := run(t, cfg, 240, 0.02, func(t float64) float64 { return 40 - 60*math.Expm1(-t/tau) }).Verdict()
		require.InEpsilon(t, tau, s.TimeConstant.Seconds(), 0.02)
		require.Less(t, float64(s.High), float64(cfg.LeakLimit))
	}
}

func TestFaults(t *testing.T) {
	fine := cfg
	fine.Drift = 1
	f := run(t, fine, 30, 0, func(float64) float64 { return 40 })
	require.True(t, f.Verdict().Fault)
	f = run(t, cfg, 30, 0.1, func(float64) float64 { return 40 })
	require.False(t, f.Verdict().Fault)
	for range 20 {
		f.AddOverRange()
	}
	require.True(t, f.Verdict().Fault)
	f.Reset()
	require.Zero(t, f.Readings())
	require.Equal(t, follow.Status{Reason: follow.TooFewReadings}, f.Verdict())
}

// Watching longer settles what a short record leaves open, at about the time
// foreseen.
func TestDecideTime(t *testing.T) {
	quiet := cfg
	quiet.LeakLimit /= 20
	law := func(float64) float64 { return 40 }
	early := run(t, quiet, 60, 0.1, law).Verdict()
	require.Equal(t, follow.Undetermined, early.Verdict)
	require.Positive(t, early.Decide)
	rows := int(early.Decide.Seconds()/5*1.5) + 1
	late := run(t, quiet, rows, 0.1, law).Verdict()
	require.Equal(t, follow.Tight, late.Verdict, "%v then %+v", early.Decide, late)
}

func TestRefuses(t *testing.T) {
	f, err := follow.New(cfg)
	require.NoError(t, err)
	require.NoError(t, f.Add(time.Second, 40))
	for _, p := range []float64{-1, math.NaN(), math.Inf(1)} {
		require.ErrorIs(t, f.Add(2*time.Second, units.Pressure(p)), units.ErrOutOfRange)
	}
	require.ErrorIs(t, f.Add(time.Second, 40), units.ErrOutOfRange)
	require.Equal(t, 1, f.Readings(), "refused readings leave no trace")
	for _, change := range []func(*follow.Config){
		func(c *follow.Config) { c.Volume = 0 },
		func(c *follow.Config) { c.SiteTemperature = 20 },
		func(c *follow.Config) { c.LeakLimit = 0 },
		func(c *follow.Config) { c.Resolution = 0 },
	} {
		bad := cfg
		change(&bad)
		_, err := follow.New(bad)
		require.ErrorIs(t, err, units.ErrOutOfRange)
	}
}

func TestAddAllocatesNothing(t *testing.T) {
	f, err := follow.New(cfg)
	require.NoError(t, err)
	at := time.Duration(0)
	require.Zero(t, testing.AllocsPerRun(200, func() {
		at += 5 * time.Second
		if f.Add(at, 40+units.Pressure(at.Seconds()*1e-3)) != nil {
			t.Fatal("refused")
		}
	}))
}

// The package can be carried to firmware: it needs the standard library, units
// and moisture, nothing else.
func TestImportsOnlyTheStandardLibrary(t *testing.T) {
	out, err := exec.Command("go", "list", "-deps", "-f", "{{if not .Standard}}{{.ImportPath}}{{end}}", ".").Output()
	require.NoError(t, err)
	for _, path := range strings.Fields(string(out)) {
		require.Contains(t, []string{
			"example.com/drydown/units", "example.com/drydown/moisture", "example.com/drydown/vacuum/rise/follow",
		}, path)
	}
}

func FuzzFollow(f *testing.F) {
	f.Add(uint64(1), 40, 5.0, 50.0, 0.1, 0.1)
	f.Add(uint64(2), 100, 1e-3, 0.0, 1e5, 0.0)
	f.Fuzz(func(t *testing.T, stream uint64, rows int, step, start, rate, sd float64) {
		w, err := follow.New(cfg)
		if err != nil {
			t.Fatal(err)
		}
		r := rand.New(rand.NewPCG(stream, 1))
		at := 0.0
		for range min(rows, 200) {
			at += step
			if !(math.Abs(at) < 1e9) {
				return
			}
			_ = w.Add(time.Duration(at*1e9), units.Pressure(start+rate*at+sd*r.NormFloat64())) // bad readings are refused
		}
		s := w.Verdict()
		for _, v := range []float64{float64(s.Low), float64(s.Best), float64(s.High), float64(s.Rise), s.Correlation} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("not finite: %+v", s)
			}
		}
		if s.Low > s.High || s.Decide < 0 {
			t.Fatalf("upside down: %+v", s)
		}
	})
}

// BenchmarkAdd gives the cost of one reading in units of math.Exp, and
// BenchmarkVerdict that of a verdict.
func BenchmarkAdd(b *testing.B) {
	f, err := follow.New(cfg)
	require.NoError(b, err)
	b.ReportAllocs()
	at := time.Duration(0)
	for b.Loop() {
		at += time.Second
		if f.Add(at, 40) != nil {
			b.Fatal("refused")
		}
	}
	b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/expSeconds(), "exp/op")
}

func BenchmarkVerdict(b *testing.B) {
	f, err := follow.New(cfg)
	require.NoError(b, err)
	r := rand.New(rand.NewPCG(10, 2))
	for i := range 400 {
		at := 5 * float64(i)
		_ = f.Add(time.Duration(at*1e9), units.Pressure(40+0.01*at-60*math.Expm1(-at/80)+0.1*r.NormFloat64()))
	}
	b.ReportAllocs()
	for b.Loop() {
		f.Verdict()
	}
	b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/expSeconds(), "exp/op")
}

func expSeconds() float64 {
	const calls = 100_000
	best, sink := math.Inf(1), 0.0
	for range 20 {
		start := time.Now()
		for i := range calls {
			sink += math.Exp(-float64(i) * 1e-5)
		}
		best = min(best, time.Since(start).Seconds()/calls)
	}
	if sink < 0 {
		panic("unreachable")
	}
	return best
}

// A display of 1 micron that shows 225 for an hour, where a leak at the limit
// would have shown 60 more, is tight or stuck: the verdict says Constant. After
// 20 minutes it is too early, and a display a hundred times finer would have
// shown the temperature drift.
func TestConstantDisplay(t *testing.T) {
	c := cfg
	c.Resolution, c.Drift = units.Micron, 1
	constant := func(float64) float64 { return 225 * float64(units.Micron) }
	s := run(t, c, 721, 0, constant).Verdict()
	require.Equal(t, follow.Tight, s.Verdict)
	require.True(t, s.Constant)
	require.Less(t, s.High, c.LeakLimit)
	s = run(t, c, 241, 0, constant).Verdict()
	require.Equal(t, follow.Undetermined, s.Verdict)
	require.InDelta(t, 30*60, s.Decide.Seconds(), 2)
	c.Resolution /= 100
	s = run(t, c, 721, 0, constant).Verdict()
	require.Equal(t, follow.Undetermined, s.Verdict)
	require.True(t, s.Fault)
}

// A follower that New has not made has no circuit to judge.
func TestZeroFollowerPanics(t *testing.T) {
	var f follow.Follower
	require.Panics(t, func() { _ = f.Add(0, 1) })
	require.Panics(t, func() { f.Verdict() })
}
