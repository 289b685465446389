package main

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/examples/internal/plotstyle"
	"example.com/drydown/purge"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// dryJob has no puddle; with replaces text of the minimal job.
func dryJob(t *testing.T, with ...string) string {
	t.Helper()
	_, rest, ok := strings.Cut(minimalJob, `,
     "puddles"`)
	require.True(t, ok)
	_, rest, ok = strings.Cut(rest, `}]`)
	require.True(t, ok)
	head, _, _ := strings.Cut(minimalJob, `,
     "puddles"`)
	return write(t, "job.json", strings.NewReplacer(with...).Replace(head+rest))
}

func TestCircuitWithoutWater(t *testing.T) {
	for name, with := range map[string][]string{
		"dry air":  {`"65 %"`, `"0 %"`},
		"nitrogen": {`"volume": "8 L"`, `"volume": "8 L", "holds": "nitrogen"`, `"volume": "0.2 L"`, `"volume": "0.2 L", "holds": "nitrogen"`},
	} {
		p := start(t, "-job", dryJob(t, with...), "-band", "0", "-drivers", "0")
		require.Equal(t, exitGood, p.code, "%s: %s", name, p.stderr)
		require.Contains(t, p.stdout, "Water left", name)
		require.Contains(t, p.stdout, "Cautions", name)
		require.NotContains(t, p.stdout, "could not be made", name)
		require.NotRegexp(t, notNumbers, p.stdout)
		require.FileExists(t, filepath.Join(p.out, "report.html"))
		require.FileExists(t, filepath.Join(p.out, "pressure-1-deep-pull.png"))
	}
}

// A picture that cannot be made is named and stops nothing.
func TestFailedPictureStopsNothing(t *testing.T) {
	f := &figureSet{at: map[string][]figureRef{}}
	f.save(t.TempDir(), "x", "empty", plotstyle.Figure{Title: "t", Desc: "d", XLabel: "x", YLabel: "y"})
	require.Len(t, f.failed, 1)
	require.Contains(t, f.failed[0], "empty")

	dir := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(dir, "ledger.csv"), 0o700))
	p := startIn(t.Context(), dir, "-job", dryJob(t), "-band", "0", "-drivers", "0")
	require.Equal(t, exitInput, p.code)
	require.Contains(t, p.stdout, "Cautions", "the report is printed although a file was not written")
	require.Contains(t, p.stderr, "ledger.csv")
	require.FileExists(t, filepath.Join(dir, "report.md"))
}

// oddLog is a steady rise with 40 blank cells in a row and a few odd rows more.
func oddLog() string {
	var b strings.Builder
	b.WriteString("time [s];pressure [micron]\n")
	for i := range 200 {
		cell := fmt.Sprintf("%.1f", 100+0.25*float64(i)+0.3*float64(i*7919%11-5)/5)
		switch {
		case i >= 20 && i < 60:
			cell = ""
		case i == 80 || i == 90:
			cell = "rubbish"
		case i == 100:
			cell = "OL"
		}
		fmt.Fprintf(&b, "%d;%s\n", 10*i, cell)
	}
	b.WriteString("1990;150\n1980;150\n")
	return b.String()
}

func TestOdditiesAreGroupedAndReadingsQuoted(t *testing.T) {
	p := start(t, "-log", write(t, "log.csv", oddLog()), "-volume", "8 L", "-temperature", "20 °C", "-leak-limit", "1 micron/min")
	require.Equal(t, exitGood, p.code, p.stderr)
	report, err := os.ReadFile(filepath.Join(p.out, "report.md"))
	require.NoError(t, err)
	for _, text := range []string{p.stdout, string(report)} {
		require.Contains(t, text, "lines 22 to 61", "the blank cells")
		require.Contains(t, text, "lines 82 and 92", "rubbish")
		require.Contains(t, text, "line 102", "over range")
		require.NotContains(t, text, "the first is")
		joined := strings.Join(strings.Fields(text), " ")
		require.Contains(t, joined, "The record lasts 33 min, from a first reading of 99.7 micron (13.3 Pa) to a last of 150 micron (20.0 Pa)")
	}
}

// A first reading that the law misses is quoted as it was read.
func TestFirstReadingIsNotTheFit(t *testing.T) {
	text := strings.Replace(oddLog(), "\n0;99.7\n", "\n0;0\n", 1)
	p := start(t, "-log", write(t, "log.csv", text), "-volume", "8 L", "-temperature", "20 °C", "-leak-limit", "1 micron/min")
	require.Equal(t, exitGood, p.code, p.stderr)
	require.Contains(t, strings.Join(strings.Fields(p.stdout), " "), "from a first reading of 0 micron (0 Pa)")
	require.NotContains(t, p.stdout, "0.00000000")
}

func TestStepsThatDidNothing(t *testing.T) {
	r := &purge.Record{}
	r.SystemNode, r.GaugeNode = "low", "tee"
	r.Stages = []purge.Stage{
		{Step: 1, Title: "first pull", Kind: "pull", System: 100, Highest: 400, HighestNode: "high"},
		{Step: 2, Title: "bleed", Kind: "bleed", Why: "nothing to bleed"},
		{Step: 3, Title: "break", Kind: "break", Why: "the pressure was there already, nothing let in"},
		{Step: 4, Title: "sweep", Kind: "sweep", Why: "time over before the end that was asked for"},
		{Step: 5, Title: "hold", Kind: "hold", Why: "time over"},
	}
	r.Stages[0].Gauge.Pressure = 100
	require.Len(t, idle(r), 3)
	require.Contains(t, idle(r)[0], "Step 2 (bleed) did not do its work: nothing to bleed.")
	require.Contains(t, worstNode(r), "high at 3000 micron (400 Pa), 4.0 times")
	r.Stages[0].Highest = 200
	require.Empty(t, worstNode(r))
}

// In the program itself: a bleed before anything was let in.
func TestIdleStepIsOnTheTerminal(t *testing.T) {
	scenario := strings.Replace(string(scenarioJob), `{"isolate": {}},`, `{"isolate": {}}, {"bleed": {}},`, 1)
	p := start(t, "-job", write(t, "job.json", scenario), "-band", "0", "-drivers", "0")
	require.Equal(t, exitGood, p.code, p.stderr)
	require.Contains(t, p.stdout, "Step 3 (bleed) did not do its work: nothing to bleed.")
}

func TestEveryFileIsListed(t *testing.T) {
	p := runScenario(t)
	_, list, ok := strings.Cut(p.stdout, "Files in ")
	require.True(t, ok)
	entries, err := os.ReadDir(p.out)
	require.NoError(t, err)
	for _, e := range entries {
		ending := filepath.Ext(e.Name())
		name := strings.TrimSuffix(e.Name(), ending)
		require.Regexp(t, name+`[./a-z]*\`+ending, list, e.Name())
	}
}

// The parts of a time add up to the whole as they are printed.
func TestPartsOfTimeAddUp(t *testing.T) {
	for _, pump := range []time.Duration{41*time.Minute + 36*time.Second, 41*time.Minute + 20*time.Second, 3 * time.Minute} {
		r := &purge.Record{}
		r.Stages = []purge.Stage{
			{Kind: "pull", End: pump},
			{Kind: "hold", Start: pump, End: 78*time.Minute + 20*time.Second},
		}
		var all, pumped, rest int
		_, err := fmt.Sscanf(phrase.Took(r.Took())+" "+phrase.Took(pumping(r))+" "+elseTook(r), "%d min %d min %d min", &all, &pumped, &rest)
		require.NoError(t, err)
		require.Equal(t, all, pumped+rest)
	}
}

// The reason given between any two records is true of their numbers.
func TestDecisiveIsTrueWithoutALimit(t *testing.T) {
	a := reworked(answerScenario(t), 0, 0)
	record := func(name string, minutes, mg float64) *purge.Record {
		r := &purge.Record{Procedure: name, Completed: true}
		r.Stages = []purge.Stage{{Kind: "pull", End: time.Duration(minutes * float64(time.Minute))}}
		r.Stages[0].Ledger.Nodes = nil
		store := a.records()[0].Final().Stores[0]
		store.Content.Liquid, store.Content.Ice = units.Mass(mg*1e-6), 0
		r.Stages[0].Ledger.Stores = append(r.Stages[0].Ledger.Stores, store)
		return r
	}
	wet, dry, quick := record("wet", 30, 500), record("dry", 60, 90), record("quick", 50, 93)
	require.Equal(t, units.Mass(500e-6), wet.WaterLeft())
	require.Regexp(t, `^it leaves less, 90.0 mg of water left against 0.500 g; it takes 60 min against 30 min`, a.decisive(dry, wet))
	require.Regexp(t, `^they leave the same within 5 % or a milligram and it is the quicker one, 50 min against 60 min`, a.decisive(quick, dry))
	require.Regexp(t, `third procedure`, a.decisive(dry, quick), "it is neither drier nor quicker")
	require.False(t, a.asDry(wet, dry), "without a limit water counts")
	require.True(t, a.asDry(quick, dry))

	strict := reworked(a, 1, 1e-9)
	require.Regexp(t, `^neither meets the limit and it leaves less`, strict.decisive(dry, wet))
	require.Regexp(t, `^neither meets the limit and they leave the same`, strict.decisive(quick, dry))
	require.False(t, strict.asDry(wet, dry))
	generous := reworked(a, 1, 0.5)
	require.Regexp(t, `^both meet the limit and it is the quicker one, 30 min against 60 min`, generous.decisive(wet, dry))
	require.True(t, generous.asDry(wet, dry))
}

// A floor's reason counts the leak at its own temperature, 9 °C against 19 °C
// here; the job's number is said beside it.
func TestLeakIsQuotedAsTheJobStatesIt(t *testing.T) {
	text, err := os.ReadFile("../../testdata/jobs/sweep.json")
	require.NoError(t, err)
	job := strings.NewReplacer(`"rate": "1e-5`, `"rate": "1e-3`, `"300 micron"`, `"60 micron", "at_most": "20 min"`).Replace(string(text))
	p := start(t, "-job", write(t, "job.json", job), "-band", "0", "-drivers", "0")
	require.Equal(t, exitGood, p.code, p.stderr)
	said := strings.Join(strings.Fields(p.stdout), " ")
	require.Contains(t, said, "a leak of 0.000965", "1e-3 times 282.15/292.15")
	require.Contains(t, said, "The leak is the job's, 0.001 Pa·m³/s at the temperature of condenser")
}

// A gauge that shows no number says so, and what is said of the last pull is
// about the last pull.
func TestGaugeOutOfItsRange(t *testing.T) {
	over, under := vacuum.Reading{OverRange: true}, vacuum.Reading{UnderRange: true}
	require.Equal(t, "below its range", reading(under))
	require.Equal(t, "was over its range", shown(over))
	r := &purge.Record{SystemNode: "low side", GaugeNode: "tee"}
	r.Stages = []purge.Stage{
		{Kind: "pull", System: 100, Gauge: vacuum.Reading{Pressure: 100}},
		{Kind: "pull", System: 50, Gauge: under},
		{Kind: "watch", System: 60, Gauge: vacuum.Reading{Pressure: 60}},
	}
	for _, c := range []struct {
		gauge vacuum.Reading
		want  string
	}{
		{under, "the gauge at the tee is below its range and says nothing about the low side, which stands at 375 micron"},
		{over, "the gauge at the tee is over its range and says nothing about"},
		{vacuum.Reading{}, "the gauge at the tee shows 0 micron (0 Pa) and says nothing about"},
		{vacuum.Reading{Pressure: 50}, "the gauge speaks for the low side within 1.0 %"},
	} {
		r.Stages[1].Gauge = c.gauge
		require.Contains(t, gaugeAgainstSystem(r), c.want)
	}

	require.True(t, showsAtMost(under, 50, 60))
	require.False(t, showsAtMost(under, 90, 60), "below 90 Pa may be above 60")
	require.False(t, showsAtMost(over, 50, 60))
	require.True(t, showsAtMost(vacuum.Reading{Pressure: 60}, 50, 60))
}

// In the program itself: a thermal gauge whose bottom the pull passes.
func TestGaugeBelowItsBottomInTheReport(t *testing.T) {
	job := strings.Replace(minimalJob, `"gauge": {"node": "circuit"}`, `"gauge": {"node": "circuit", "thermal": true, "ceiling": "20000 micron", "bottom": "400 micron"}`, 1)
	job = strings.Replace(job, `"water": "2 g"`, `"water": "0.1 g"`, 1)
	p := start(t, "-job", write(t, "job.json", job), "-band", "0", "-drivers", "0")
	require.Equal(t, exitGood, p.code, p.stderr)
	require.Contains(t, strings.Join(strings.Fields(p.stdout), " "), "the gauge at the circuit is below its range and says nothing about the circuit")
	require.NotContains(t, p.stdout, "0 micron (0 Pa)")
	samples, err := os.ReadFile(filepath.Join(p.out, "samples-1-deep-pull.csv"))
	require.NoError(t, err)
	require.Contains(t, string(samples), ",under")
	report, err := os.ReadFile(filepath.Join(p.out, "report.md"))
	require.NoError(t, err)
	require.Contains(t, string(report), "thermal gauge")
}

// The picture has the thermal gauge's own line, with gaps where it shows no
// number; a band that has come to rest is drawn no further than the procedure.
func TestPressureFigureOfAThermalGauge(t *testing.T) {
	scenario := answerScenario(t)
	a := reworked(scenario, scenario.job.Charge, scenario.job.DrynessLimit)
	r := *scenario.records()[0]
	names := func() []string {
		var out []string
		for _, s := range a.pressureFigure(&r, nil).Series {
			out = append(out, s.Name)
		}
		return out
	}
	require.Equal(t, []string{"low side", "tee (gauge)"}, names())
	a.job.Gauge.Thermal = true
	require.Equal(t, []string{"low side", "tee (gauge)", "thermal gauge"}, names())
	require.Contains(t, a.pressureFigure(&r, nil).Desc, "What the thermal gauge shows")
	r.GaugeNode = r.SystemNode
	require.Contains(t, a.pressureFigure(&r, nil).Desc, "Absolute pressure at the low side, where the gauge is, over")

	s, ok := shownSeries(&r)
	require.True(t, ok)
	require.True(t, math.IsNaN(s.Y[0]), "over its ceiling at the start")
	require.InDelta(t, float64(r.Samples[len(s.Y)/4].Reading[0].Pressure), s.Y[len(s.Y)/4], 1e-9)
	_, ok = shownSeries(&purge.Record{})
	require.False(t, ok)

	p := purge.PressureBand{Times: []time.Duration{0, 1, 2, 3, 4}, Pressure: [][]units.Pressure{{9, 5, 5, 5, 5}, {9, 7, 6, 6.01, 6}}}
	require.Equal(t, time.Duration(2), stillAfter(&p))
}
