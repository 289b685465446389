package rise_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
	"example.com/drydown/vacuum/trace"
)

// One bad reading at either end is set aside: a ramp from 40 to 238 micron in 16
// min is the same leak with it as without, its slope 198 micron in 960 s times
// the volume.
func TestBadEnds(t *testing.T) {
	ramp := func() trace.Log {
		return made(97, 10, 0.05, func(t float64) float64 { return (40 + 198*t/960) * float64(units.Micron) })
	}
	const bad = 2 * units.Micron
	for name, change := range map[string]func(l *trace.Log){
		"none":       func(*trace.Log) {},
		"first":      func(l *trace.Log) { l.Pressures[0] = bad },
		"last":       func(l *trace.Log) { l.Pressures[96] = bad },
		"both":       func(l *trace.Log) { l.Pressures[0], l.Pressures[96] = bad, bad },
		"two last":   func(l *trace.Log) { l.Pressures[95], l.Pressures[96] = bad, bad },
		"valve open": func(l *trace.Log) { l.Pressures[96] = units.Atmosphere },
		"high first": func(l *trace.Log) { l.Pressures[0] = 60 * units.Micron },
		"off first":  func(l *trace.Log) { l.Pressures[0] += 2 },
		"middle":     func(l *trace.Log) { l.Pressures[50] = bad },
		"small last": func(l *trace.Log) { l.Pressures[96] -= 2 },
	} {
		log := ramp()
		change(&log)
		f := interpret(t, log, site)
		require.Equal(t, rise.Leak, f.Verdict, "%s: %s", name, f.Sentence)
		require.InEpsilon(t, 198*float64(units.Micron)/960*8e-3, float64(f.Leak.Best), 0.01, name)
		require.InDelta(t, 40, f.Record.First.In(units.Micron), 3, name)
		require.InDelta(t, 238, f.Record.Last.In(units.Micron), 5, name)
		require.Equal(t, name != "none", f.Record.Outliers > 0, name)
		atEnds := name != "none" && name != "middle" && name != "small last"
		require.Equal(t, atEnds, strings.Contains(strings.Join(f.Assumptions, ";"), "set aside"), name)
	}
}

// The same from text whose last line is torn, with steps of a micron.
func TestTornLastLine(t *testing.T) {
	var b bytes.Buffer
	b.WriteString("time [s];pressure [micron]\n")
	for s := 0; s < 1000; s += 10 {
		fmt.Fprintf(&b, "%d;%.0f\n", s, 40+0.2*float64(s))
	}
	for _, end := range []string{"1000;2", "1000;2\n", "1000;24", "1000"} {
		log, err := trace.Read(strings.NewReader(b.String()+end), trace.Options{})
		require.NoError(t, err)
		f := interpret(t, log, site)
		require.Equal(t, rise.Leak, f.Verdict, "%q: %s", end, f.Sentence)
	}
}

// A source that fades fast is no bad first reading.
func TestFastStartIsKept(t *testing.T) {
	for _, tau := range []float64{20, 30, 100} {
		f := interpret(t, made(200, 10, 0.05, func(t float64) float64 { return 40 - 60*math.Expm1(-t/tau) }), site)
		require.Zero(t, f.Record.Outliers, "time constant %g s", tau)
	}
	// Water that is out between the first two readings: not called tight.
	f := interpret(t, made(200, 10, 0.05, func(t float64) float64 { return 40 - 60*math.Expm1(-t) }), site)
	require.NotEqual(t, rise.Tight, f.Verdict, f.Sentence)
	require.Contains(t, f.Sentence, "if the gauge had not settled yet, the verdict is tight")
	require.Zero(t, f.Record.FirstRow)
}

// constantLog is a display that shows one value once a step, in micron as text.
func constantLog(t *testing.T, value string, rows int, step float64) trace.Log {
	t.Helper()
	var b bytes.Buffer
	b.WriteString("time [s],pressure [micron]\n")
	for i := range rows {
		fmt.Fprintf(&b, "%g,%s\n", float64(i)*step, value)
	}
	log, err := trace.Read(&b, trace.Options{})
	require.NoError(t, err)
	return log
}

// A display of whole microns that shows 225 for an hour, while a leak at the
// limit brings 68: tight or stuck, and the sentence says how to tell. A value
// constant to a hundredth of that would have shown the temperature's drift.
func TestConstantDisplay(t *testing.T) {
	o := site
	o.LeakLimit = rise.LimitFromRise(68*units.PressureRate(units.Micron)/3600, o.Volume)
	f := interpret(t, constantLog(t, "225", 361, 10), o)
	require.Equal(t, rise.Tight, f.Verdict, f.Sentence)
	require.Equal(t, rise.ConstantReading, f.Reason)
	require.Contains(t, f.Sentence, "68 steps")
	require.Contains(t, f.Sentence, "open the valve")
	// One micron and 1.96 standard deviations of drift, 225/293.15 micron, in an
	// hour: 1.808 micron (by hand).
	require.InEpsilon(t, 1.808*float64(units.Micron)*8e-3/3600, float64(f.Leak.High), 1e-3)

	short := interpret(t, constantLog(t, "225", 61, 10), o) // the limit brings 11 steps
	require.Equal(t, rise.Undetermined, short.Verdict, short.Sentence)
	require.Equal(t, rise.ConstantReading, short.Reason)
	require.Contains(t, short.Sentence, "11 steps")
	require.True(t, short.DecideKnown)
	require.InDelta(t, 3600*30/68.0, short.Decide.Seconds(), 61)

	for name, log := range map[string]trace.Log{
		"fine digits":   constantLog(t, "225.00", 361, 10),
		"no resolution": made(361, 10, 0, func(float64) float64 { return 30 }),
		"lower end":     constantLog(t, "1", 361, 10),
		"fine, long":    constantLog(t, "225.000", 2000, 10),
	} {
		f := interpret(t, log, o)
		require.Equal(t, rise.Undetermined, f.Verdict, name)
		require.Equal(t, rise.InstrumentFault, f.Reason, name)
		require.Contains(t, f.Sentence, "Open the valve", name)
	}
	warming := constantLog(t, "225", 361, 10)
	for i := range warming.Times {
		warming.Temperatures = append(warming.Temperatures, units.Temperature(293+float64(i)/60))
	}
	require.Equal(t, rise.InstrumentFault, interpret(t, warming, o).Reason)
}

// The time that should decide is later than the record, unusable rows at its
// end included, and the sentence says no less.
func TestDecideIsLater(t *testing.T) {
	known := 0
	for i, l := range laws {
		for k, n := range noises {
			r := rand.New(rand.NewPCG(uint64(700+i), uint64(k)))
			for range 8 {
				rec := makeRecord(r, l, n)
				rows := len(rec.log.Times)
				rec.log.States = make([]trace.State, rows)
				for j := rows * 4 / 5; j < rows; j++ {
					rec.log.States[j] = trace.Missing
				}
				f := interpret(t, rec.log, rec.opts)
				if !f.DecideKnown {
					require.Zero(t, f.Decide)
					continue
				}
				known++
				require.Greater(t, f.Decide.Seconds(), rec.log.Times[rows-1])
				require.Contains(t, f.Sentence, "in all")
			}
		}
	}
	require.Greater(t, known, 20)
}

// A first reading that is too high is none whatever follows; one that is too low
// is none where it does not decide, and where it does, the sentence says so.
func TestBadFirst(t *testing.T) {
	for name, c := range map[string]struct {
		first float64 // less the law's, Pa
		law   func(t float64) float64
		want  rise.Verdict
	}{
		"tight, high":         {15, func(float64) float64 { return 40 }, rise.Tight},
		"tight, little high":  {3, func(float64) float64 { return 40 }, rise.Tight},
		"leak, high":          {15, func(t float64) float64 { return 40 + 0.05*t }, rise.Leak},
		"moisture, high":      {15, func(t float64) float64 { return 40 - 30*math.Expm1(-t/200) }, rise.Moisture},
		"both, low":           {-20, func(t float64) float64 { return 40 + 0.05*t - 30*math.Expm1(-t/200) }, rise.LeakAndMoisture},
		"tight, tenfold less": {-37, func(float64) float64 { return 40 }, rise.Tight},
	} {
		log := made(200, 10, 0.1, c.law)
		log.Pressures[0] += units.Pressure(c.first)
		f := interpret(t, log, site)
		require.Equal(t, c.want, f.Verdict, "%s: %s", name, f.Sentence)
		require.Equal(t, 1, f.Record.Outliers, name)
		require.Equal(t, 200, f.Record.Usable, name)
		require.Equal(t, 1, f.Record.FirstRow, name)
		require.Contains(t, strings.Join(f.Assumptions, ";"), "was wrong and is set aside", name)
	}
	log := made(200, 10, 0.1, func(t float64) float64 { return 40 + 0.05*t })
	log.Pressures[0] -= 20
	f := interpret(t, log, site)
	require.Equal(t, rise.LeakAndMoisture, f.Verdict, f.Sentence)
	require.Contains(t, f.Sentence, "This rests on the first reading, 19.9 Pa")
	require.Contains(t, f.Sentence, "the verdict is leak.")
}

// In white and lag-1 noise no first reading of the study's records is set aside.
func TestGoodFirstIsKept(t *testing.T) {
	for i, l := range laws {
		for k, n := range noises {
			if n.outliers > 0 {
				continue
			}
			r := rand.New(rand.NewPCG(uint64(900+i), uint64(k)))
			for range 60 {
				rec := makeRecord(r, l, n)
				rec.log.Pressures = rec.log.Pressures[:min(20, rec.log.Len())] // the rest plays no part
				rec.log.Times = rec.log.Times[:len(rec.log.Pressures)]
				f := interpret(t, rec.log, rec.opts)
				require.NotContains(t, strings.Join(f.Assumptions, ";"), "was wrong and is set aside", "%s, %s", l.name, n.name)
			}
		}
	}
}
