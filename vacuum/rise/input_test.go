package rise_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
	"example.com/drydown/vacuum/trace"
)

// site is a plain test: 8 L at 20 °C, limit 1 micron/min.
var site = rise.Options{
	Volume: 8 * units.Litre, SiteTemperature: units.Celsius(20),
	LeakLimit: rise.LimitFromRise(units.PressureRate(units.Micron)/60, 8*units.Litre),
}

// made samples a law every step seconds, with seeded white noise of sd Pa.
func made(rows int, step, sd float64, law func(t float64) float64) trace.Log {
	r := rand.New(rand.NewPCG(1, uint64(rows)))
	var log trace.Log
	for i := range rows {
		t := float64(i) * step
		log.Times = append(log.Times, t)
		log.Pressures = append(log.Pressures, units.Pressure(math.Max(law(t)+sd*r.NormFloat64(), 0)))
	}
	return log
}

func interpret(t require.TestingT, log trace.Log, o rise.Options) rise.Finding {
	f, err := rise.Interpret(log, o)
	require.NoError(t, err)
	return f
}

func TestRefusedOptions(t *testing.T) {
	log := made(50, 10, 0.1, func(float64) float64 { return 50 })
	for name, change := range map[string]func(*rise.Options){
		"Volume":          func(o *rise.Options) { o.Volume = 0 },
		"SiteTemperature": func(o *rise.Options) { o.SiteTemperature = 20 },
		"LeakLimit":       func(o *rise.Options) { o.LeakLimit = units.Throughput(math.NaN()) },
		"Resolution":      func(o *rise.Options) { o.Resolution = -1 },
		"Drift":           func(o *rise.Options) { o.Drift = units.TemperatureDiff(math.NaN()) },
		"Confidence":      func(o *rise.Options) { o.Confidence = 1 },
		"Ambient":         func(o *rise.Options) { o.Ambient = 10 },
		"Law":             func(o *rise.Options) { o.Law = 7 },
		"SecondVolume":    func(o *rise.Options) { o.SecondVolume = units.Volume(math.Inf(1)) },
	} {
		o := site
		change(&o)
		_, err := rise.Interpret(log, o)
		require.ErrorIs(t, err, units.ErrOutOfRange, name)
		require.ErrorContains(t, err, name)
		require.ErrorContains(t, err, "accepted")
	}
}

func TestRefusedRecords(t *testing.T) {
	good := made(50, 10, 0.1, func(float64) float64 { return 50 })
	for name, change := range map[string]func(*trace.Log){
		"pressure in line 8": func(l *trace.Log) { l.Pressures[7] = -1 },
		"pressure in line 9": func(l *trace.Log) { l.Pressures[8] = units.Pressure(math.NaN()) },
		"time in line 11":    func(l *trace.Log) { l.Times[10] = l.Times[9] },
		"time in line 12":    func(l *trace.Log) { l.Times[11] = math.Inf(1) },
		"equal lengths":      func(l *trace.Log) { l.Pressures = l.Pressures[:3] },
	} {
		log := good
		log.Times = append([]float64(nil), good.Times...)
		log.Pressures = append([]units.Pressure(nil), good.Pressures...)
		change(&log)
		_, err := rise.Interpret(log, site)
		require.ErrorContains(t, err, name)
	}
}

func TestUnjudgedRecords(t *testing.T) {
	flat := func(float64) float64 { return 50 }
	short := interpret(t, made(5, 10, 0.1, flat), site)
	require.Equal(t, rise.Undetermined, short.Verdict)
	require.Equal(t, rise.TooFewSamples, short.Reason)
	require.Contains(t, short.Sentence, "5 usable readings")

	equal := interpret(t, made(50, 10, 0, flat), site)
	require.Equal(t, rise.InstrumentFault, equal.Reason)

	over := made(50, 10, 0.1, flat)
	over.States = make([]trace.State, 50)
	for i := 20; i < 50; i++ {
		over.States[i] = trace.OverRange
	}
	f := interpret(t, over, site)
	require.Equal(t, rise.InstrumentFault, f.Reason)
	require.Contains(t, f.Sentence, "30 of 50 readings were over the range")

	// A gauge that scatters and then freezes.
	frozen := made(80, 10, 1, flat)
	for i := 35; i < 80; i++ {
		frozen.Pressures[i] = frozen.Pressures[35]
	}
	require.Equal(t, rise.InstrumentFault, interpret(t, frozen, site).Reason)

	require.Equal(t, rise.TooFewSamples, interpret(t, trace.Log{}, site).Reason)
}

// Whatever is wrong with a text, the answer says what, and in which line.
func TestBadRecordsSayWhyAndWhere(t *testing.T) {
	ramp := func(change func(i int) string) string {
		b := "time [s];pressure [micron]\n"
		for i := range 60 {
			row := fmt.Sprintf("%d;%.1f", 10*i, 40+0.3*float64(i)+0.2*math.Sin(float64(i*i)))
			if c := change(i); c != "" {
				row = c
			}
			b += row + "\n"
		}
		return b
	}
	always := func(text string) func(int) string { return func(int) string { return text } }
	late := func(format string) func(int) string { // from line 32 on
		return func(i int) string {
			if i < 30 {
				return ""
			}
			return fmt.Sprintf(format, 10*i)
		}
	}
	back := func(i int) string { // from line 32 on
		if i < 30 {
			return ""
		}
		return fmt.Sprintf("%d;44", 280-i)
	}
	for text, c := range map[string]struct {
		says   []string
		reason rise.Reason
	}{
		ramp(late("%d;OL")):      {[]string{"30 of 60 readings were over the range", "the first in line 32"}, rise.InstrumentFault},
		ramp(late("%d;49 mbar")): {[]string{"30 of 60 rows", "the first in line 32 (unit conflict: 49 mbar"}, rise.UnusableRows},
		ramp(late("%d;-3")):      {[]string{"30 of 60 rows", "the first in line 32 (negative pressure: -3 micron"}, rise.UnusableRows},
		ramp(late("%d;abc")):     {[]string{"30 of 60 rows", "the first in line 32 (unreadable cell: abc"}, rise.UnusableRows},
		ramp(back):               {[]string{"30 of 60 rows", "backward time in 30 rows, the first in line 32"}, rise.UnusableRows},
		ramp(always("0;44")):     {[]string{"1 usable reading, at least 12", "60 rows: repeated time in 59 rows, the first in line 3"}, rise.TooFewSamples},
		ramp(func(i int) string { return fmt.Sprintf("%d;225.000", 10*i) }):                              {[]string{"one value", "from line 2 to line 61"}, rise.InstrumentFault},
		ramp(func(i int) string { return fmt.Sprintf("%d;%s", 10*i, []string{"", "44"}[min(i/50, 1)]) }): {[]string{"50 of 60 rows", "missing in 50 rows, the first in line 2"}, rise.UnusableRows},
		ramp(late("%d;err")):  {[]string{"30 of 60 rows held no reading", "missing in 30 rows, the first in line 32"}, rise.UnusableRows},
		ramp(late("%d;")):     {[]string{"30 of 60 rows", "missing in 30 rows"}, rise.UnusableRows},
		ramp(late("%d;-999")): {[]string{"30 of 60 rows", "missing in 30 rows"}, rise.UnusableRows},
	} {
		log, err := trace.Read(strings.NewReader(text), trace.Options{})
		require.NoError(t, err)
		f := interpret(t, log, site)
		require.Equal(t, rise.Undetermined, f.Verdict, f.Sentence)
		require.Equal(t, c.reason, f.Reason, f.Sentence)
		for _, s := range c.says {
			require.Contains(t, f.Sentence, s)
		}
	}
	// A quarter of the rows without a reading is the most that is judged.
	log, err := trace.Read(strings.NewReader(ramp(func(i int) string {
		if i%4 == 1 {
			return fmt.Sprintf("%d;err", 10*i)
		}
		return ""
	})), trace.Options{})
	require.NoError(t, err)
	f := interpret(t, log, site)
	require.NotEqual(t, rise.UnusableRows, f.Reason)
	require.Equal(t, 15, f.Record.Missing)
	require.Equal(t, 60, f.Record.Usable+f.Record.Missing)
	// Two readings to every tick of the clock do no harm.
	log, err = trace.Read(strings.NewReader(ramp(func(i int) string { return fmt.Sprintf("%d;%.1f", i/2*10, 40+0.3*float64(i)) })), trace.Options{})
	require.NoError(t, err)
	require.NotEqual(t, rise.UnusableRows, interpret(t, log, site).Reason)
}

// A rise beyond saturation proves gas whatever the shape: here a fast one that
// flattens at 5000 Pa, where water at 20 °C reaches 2339 Pa (R7-97).
func TestAboveSaturation(t *testing.T) {
	f := interpret(t, made(120, 10, 5, func(t float64) float64 { return 40 + 5000*(1-math.Exp(-t/300)) }), site)
	require.Equal(t, rise.AboveSaturation, f.Reason)
	require.Contains(t, []rise.Verdict{rise.Leak, rise.LeakAndMoisture}, f.Verdict)
}

// A leak of known rate in Pa/s, checked as V dp/dt.
func TestKnownLeak(t *testing.T) {
	f := interpret(t, made(200, 10, 0.1, func(t float64) float64 { return 40 + 0.05*t }), site)
	require.Equal(t, rise.Leak, f.Verdict)
	require.InEpsilon(t, 0.05*8e-3, float64(f.Leak.Best), 0.01)
	require.LessOrEqual(t, float64(f.Leak.Low), 0.05*8e-3)
	require.GreaterOrEqual(t, float64(f.Leak.High), 0.05*8e-3)
}

// Water seen: 60 Pa in 8 L at 20 °C is p V M/(R T) = 3.548 mg (gas law, by hand).
func TestWaterMass(t *testing.T) {
	f := interpret(t, made(400, 5, 0.05, func(t float64) float64 { return 30 + 60*(1-math.Exp(-t/100)) }), site)
	require.Equal(t, rise.Moisture, f.Verdict)
	require.InEpsilon(t, 3.548e-6, float64(f.Water), 0.01)
	require.InEpsilon(t, 100, f.TimeConstant.Seconds(), 0.05)
}

// A temperature column takes the drift out: a sealed volume whose gas warms by
// 3 K looks like a leak without it.
func TestTemperatureColumn(t *testing.T) {
	warm := func(t float64) float64 { return 293.15 + 3*t/1200 }
	log := made(240, 5, 0.05, func(t float64) float64 { return 300 * warm(t) / 293.15 })
	require.NotEqual(t, rise.Tight, interpret(t, log, site).Verdict)
	for _, at := range log.Times {
		log.Temperatures = append(log.Temperatures, units.Temperature(warm(at)))
	}
	f := interpret(t, log, site)
	require.Equal(t, rise.Tight, f.Verdict, f.Sentence)
	require.True(t, f.Record.TemperatureCorrected)
}

// Two gauges that approach one another are two sides that settle; with both
// volumes known their mean pressure stays and the circuit is tight.
func TestSecondGauge(t *testing.T) {
	log := made(240, 5, 0.05, func(t float64) float64 { return 80 - 40*math.Exp(-t/150) })
	for _, at := range log.Times {
		log.Second = append(log.Second, units.Pressure(80+40*math.Exp(-at/150)))
	}
	require.Equal(t, rise.Equalising, interpret(t, log, site).Verdict)
	o := site
	o.SecondVolume = o.Volume
	f := interpret(t, log, o)
	require.Contains(t, []rise.Verdict{rise.Tight, rise.Equalising}, f.Verdict)
}

// Blocks lose less than 1 % of the information on the leak: the interval from
// a reduced record is that of the whole record's white noise, σ √(12/N)/T.
func TestReductionKeepsInformation(t *testing.T) {
	const rows, step, sd = 100_000, 0.02, 1.0
	o := site
	o.Drift = -1
	f := interpret(t, made(rows, step, sd, func(t float64) float64 { return 300 + 0.2*t }), o)
	t.Logf("%+v", f)
	exact := sd * math.Sqrt(12/float64(rows)) / (rows * step) * 8e-3 // Pa·m³/s
	sigma := float64(f.Leak.High-f.Leak.Best) / 1.95996
	require.InEpsilon(t, exact, sigma, 0.12) // one draw: noise itself is known to 2 %, models add a little
}

// Interpretation does not depend on the scale of time and pressure.
func TestScaling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64Range(0, 1000).Draw(t, "seed")
		slower := math.Pow(2, float64(rapid.IntRange(-2, 2).Draw(t, "slower")))
		r := rand.New(rand.NewPCG(seed, 3))
		rec := makeRecord(r, laws[int(seed)%4], noises[0])
		rec.opts.Drift = -1
		a := interpret(t, rec.log, rec.opts)
		for i := range rec.log.Times {
			rec.log.Times[i] *= slower
		}
		rec.opts.LeakLimit /= units.Throughput(slower)
		b := interpret(t, rec.log, rec.opts)
		if a.Verdict != b.Verdict {
			t.Fatalf("%v became %v when time runs %g times slower", a.Verdict, b.Verdict, slower)
		}
		if d := math.Abs(float64(a.Leak.High) - slower*float64(b.Leak.High)); d > 1e-3*float64(a.Leak.High) {
			t.Fatalf("upper limit %g became %g", a.Leak.High, slower*float64(b.Leak.High))
		}
	})
}

// The same record gives the same finding, bit for bit.
func TestDeterministic(t *testing.T) {
	rec := makeRecord(rand.New(rand.NewPCG(5, 5)), laws[3], noises[1])
	require.Equal(t, interpret(t, rec.log, rec.opts), interpret(t, rec.log, rec.opts))
}

// FuzzInterpret: no panic and no NaN for any record a caller could hand over.
func FuzzInterpret(f *testing.F) {
	f.Add(uint64(1), 40, 10.0, 50.0, 1.0, 0.1)
	f.Add(uint64(2), 300, 1e-9, 0.0, 0.0, 1e-300)
	f.Add(uint64(3), 13, 1e9, 1e6, -1e3, 1e5)
	f.Fuzz(func(t *testing.T, seed uint64, rows int, step, start, rate, sd float64) {
		if rows < 0 || rows > 300 {
			return
		}
		r := rand.New(rand.NewPCG(seed, 0))
		var log trace.Log
		at := 0.0
		for range rows {
			log.Times = append(log.Times, at)
			at += step * (0.5 + r.Float64())
			log.Pressures = append(log.Pressures, units.Pressure(start+rate*at+sd*r.NormFloat64()))
		}
		got, err := rise.Interpret(log, site)
		if err != nil {
			return
		}
		for _, v := range []float64{
			float64(got.Leak.Low), float64(got.Leak.Best), float64(got.Leak.High),
			float64(got.VapourRise), float64(got.Water), got.Record.Effective, float64(got.Record.Noise),
		} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("not finite: %+v", got)
			}
		}
		if got.Leak.Low > got.Leak.High {
			t.Fatalf("interval upside down: %+v", got.Leak)
		}
	})
}
