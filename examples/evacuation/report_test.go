package main

import (
	"context"
	"io"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/require"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/purge"
	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
)

// scenarioAnswer is the scenario worked out, once for all tests.
var scenarioAnswer = sync.OnceValues(func() (*answer, error) {
	q, err := (&inputs{}).load()
	if err != nil {
		return nil, err
	}
	return q.answer(context.Background(), newProgress(io.Discard))
})

func answerScenario(t *testing.T) *answer {
	t.Helper()
	a, err := scenarioAnswer()
	require.NoError(t, err)
	return a
}

// reworked is the scenario's answer with another job around the same records,
// as far as the choice goes.
func reworked(a *answer, charge units.Mass, limit units.MassFraction) *answer {
	job := *a.job
	job.Charge, job.DrynessLimit = charge, limit
	q := *a.question
	q.job = &job
	b := *a
	b.question = &q
	return &b
}

func TestScenarioShowsThatTheGaugeIsNotTheWater(t *testing.T) {
	a := answerScenario(t)
	recs := a.records()
	require.Len(t, recs, 2)
	single, best := recs[0], recs[1]
	got, _ := a.best()
	require.Same(t, best, got)
	limit, ok := a.limit()
	require.True(t, ok)
	require.Greater(t, single.WaterLeft(), limit)
	require.LessOrEqual(t, best.WaterLeft(), limit)
	pull := single.Stages[0]
	require.Less(t, pull.Gauge.Pressure, 500*units.Micron)
	require.Greater(t, pull.Stored.Ice, units.Mass(1e-3), "the gauge is satisfied while more than a gram is ice")
	sentence := a.gaugeIsNotWater(single)
	require.Contains(t, sentence, phrase.Grams(pull.WaterLeft()))
	require.Contains(t, sentence, reading(pull.Gauge))
}

func TestLedgersClose(t *testing.T) {
	a := answerScenario(t)
	for _, r := range a.records() {
		for i := range r.Stages {
			require.NoError(t, r.Stages[i].Ledger.Check())
		}
	}
}

func TestDecisiveReasonFollowsTheNumbers(t *testing.T) {
	a := answerScenario(t)
	single, triple := a.records()[0], a.records()[1]
	require.Contains(t, a.decisive(triple, single), "meets the limit")

	none := reworked(a, 0, 0)
	require.Contains(t, none.decisive(triple, single), "it leaves less, "+phrase.Grams(triple.WaterLeft()))
	strict := reworked(a, a.job.Charge, 1e-9)
	require.Contains(t, strict.decisive(triple, single), "neither meets the limit and it leaves less")
	generous := reworked(a, a.job.Charge, 0.5) // both meet it
	require.Contains(t, generous.decisive(single, triple), "quicker one, "+phrase.Took(single.Took())+" against "+phrase.Took(triple.Took()))

	stopped := *single
	stopped.Completed = false
	require.Contains(t, a.decisive(triple, &stopped), "carried out to its end")
	require.Contains(t, none.decisive(triple, triple), "as long within 1 %")
}

func TestWaterTableFollowsTheLimit(t *testing.T) {
	a := answerScenario(t)
	text := func(a *answer) string {
		d := &document{}
		a.waterLeft(d, nil)
		var b strings.Builder
		require.NoError(t, d.text(&b))
		return b.String()
	}
	require.Regexp(t, `limit 30 mg/kg +NOT met \(0\.102 g\) +met \(0\.102 g\)`, text(a))
	require.Regexp(t, `limit 50 % by mass +met \(1700 g\) +met`, text(reworked(a, a.job.Charge, 0.5)))
	require.Contains(t, text(reworked(a, 0, 0)), "nothing is said about dry enough")
}

// The finish rule's sentence is checked against the samples file: first row
// where the gauge shows 500 micron or less, and the water in that row.
func TestFinishRuleAgreesWithTheSamplesFile(t *testing.T) {
	a, p := answerScenario(t), runScenario(t)
	rows := readTable(t, filepath.Join(p.out, "samples-2-triple-with-nitrogen.csv"))
	col := map[string]int{}
	for i, name := range rows[0] {
		col[name] = i
	}
	value := func(row []string, name string) float64 {
		require.Contains(t, col, name)
		x, err := strconv.ParseFloat(row[col[name]], 64)
		require.NoError(t, err)
		return x
	}
	for _, row := range rows[1:] {
		if row[col["gauge[Pa]"]] == "over" || value(row, "gauge[Pa]") > 500*101325.0/760000 {
			continue
		}
		water := value(row, "suction trap liquid[kg]") + value(row, "suction trap ice[kg]")
		for node, litres := range map[string]float64{"low side": 8.5, "high side": 6, "tee": 0.25, "pump inlet": 0.1} {
			water += value(row, "vapour "+node+"[Pa]") * litres * 1e-3 / (8.31446261815324 * 300.15) * 0.018015268
		}
		want := phrase.Took(time.Duration(value(row, "time[s]")*1e9)) + ", with " + phrase.Grams(units.Mass(water)) + " of water left"
		require.Contains(t, a.rules[0].reason, want)
		require.Equal(t, differs, a.rules[0].outcome, "more is left than the limit allows")
		return
	}
	t.Fatal("the gauge never came down to 500 micron")
}

func TestRiseSentences(t *testing.T) {
	a := answerScenario(t)
	f := &a.rise.finding
	require.Equal(t, rise.LeakAndMoisture, f.Verdict)
	// The record was made with 2.1 micron/min in 14.75 L.
	made := rise.LimitFromRise(units.PressureRate(2.1*float64(units.Micron)/60), a.question.rise.Volume)
	require.InDelta(t, 14.75e-3, float64(a.question.rise.Volume), 1e-12)
	require.LessOrEqual(t, f.Leak.Low, made)
	require.GreaterOrEqual(t, f.Leak.High, made)

	whole := a.rise.sooner[len(a.rise.sooner)-1]
	require.Equal(t, f.Verdict, whole.verdict, "the last beginning is the whole record")
	require.Contains(t, a.howLong(), phrase.Took(a.rise.settled))
	for _, s := range a.rise.sooner {
		if s.length >= a.rise.settled {
			require.Equal(t, f.Verdict, s.verdict)
		}
	}
	require.Contains(t, a.againstAssumption(), "without a leak")
}

func TestSettledFrom(t *testing.T) {
	s := func(v ...rise.Verdict) []soon {
		var out []soon
		for i, x := range v {
			out = append(out, soon{time.Duration(i+1) * time.Minute, x})
		}
		return out
	}
	require.Equal(t, 1*time.Minute, settledFrom(s(rise.Tight, rise.Tight)))
	require.Equal(t, 3*time.Minute, settledFrom(s(rise.Leak, rise.Undetermined, rise.Leak)))
	require.Equal(t, 2*time.Minute, settledFrom(s(rise.Undetermined, rise.Leak, rise.Leak)))
	require.Zero(t, settledFrom(nil))
}

func TestHingesNameTheWeightiestFirst(t *testing.T) {
	a := answerScenario(t)
	inputs := a.byInput()
	require.NotEmpty(t, inputs)
	for i := 1; i < len(inputs); i++ {
		require.GreaterOrEqual(t, inputs[i-1].weight, inputs[i].weight)
	}
	n := 0
	for _, in := range inputs {
		n += len(in.runs)
	}
	require.Equal(t, len(a.hinges), n)
}

func TestEveryRuleIsJudged(t *testing.T) {
	a := answerScenario(t)
	require.Len(t, a.rules, 13, "as many as there are rules of the trade")
	for _, r := range a.rules {
		require.NotEmpty(t, r.name)
		require.NotEmpty(t, r.rule, r.name)
		require.NotEmpty(t, r.reason, r.name)
		t.Logf("%s, %s: %s (common practice). %s", r.name, r.outcome, r.rule, r.reason)
	}
	shipped, err := os.ReadFile("../../testdata/practice/evacuation.csv")
	require.NoError(t, err)
	require.Equal(t, practiceRules, string(shipped))
}

func TestThermalGaugeRuleAsksTheJob(t *testing.T) {
	a := answerScenario(t)
	book, err := readRules(practiceRules)
	require.NoError(t, err)
	for thermal, want := range map[bool]string{false: "not thermal: it reads the total pressure of its node, up to its ceiling of 26.66 mbar", true: "is thermal: each gas counts by its own factor"} {
		changed := reworked(a, a.job.Charge, a.job.DrynessLimit)
		changed.job.Gauge.Thermal = thermal
		got, err := (&bench{changed, book, t.Context()}).thermalGauge()
		require.NoError(t, err)
		require.Equal(t, leftOut, got.outcome)
		require.Contains(t, got.reason, want)
	}
}

// The full report says how a pump's oil is modelled, or that it is not.
func TestLeftOutSpeaksOfThePumpOil(t *testing.T) {
	a := answerScenario(t)
	text := func(a *answer) string {
		d := &document{}
		a.leftOut(d, true)
		var b strings.Builder
		require.NoError(t, d.markdown(&b))
		return b.String()
	}
	require.Contains(t, text(a), "the job states no pump oil")
	changed := reworked(a, a.job.Charge, a.job.DrynessLimit)
	changed.job.Pump.Oil = &purge.JobPumpOil{Mass: 0.5}
	require.Contains(t, text(changed), "How slowly the pump's oil gives off its water")
	require.NotContains(t, text(changed), "the job states no pump oil")
}

func TestCopyJobKeepsEverything(t *testing.T) {
	a := answerScenario(t)
	c, err := copyJob(a.job)
	require.NoError(t, err)
	require.Empty(t, cmp.Diff(a.job, c, cmp.AllowUnexported(units.PressureReading{})))
}

// Every field of a job is explained by -h.
func TestHelpNamesEveryField(t *testing.T) {
	var visit func(reflect.Type)
	visit = func(typ reflect.Type) {
		for typ.Kind() == reflect.Pointer || typ.Kind() == reflect.Slice {
			typ = typ.Elem()
		}
		if typ.Kind() != reflect.Struct || typ.PkgPath() != reflect.TypeFor[purge.Job]().PkgPath() {
			return
		}
		for i := range typ.NumField() {
			name, _, _ := strings.Cut(typ.Field(i).Tag.Get("json"), ",")
			require.Regexp(t, regexp.MustCompile(`\b`+name+`\b`), usage, typ.Name())
			visit(typ.Field(i).Type)
		}
	}
	visit(reflect.TypeFor[purge.Job]())
}

func TestWords(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{phrase.Grams(3.314e-3), "3.31 g"},
		{phrase.Grams(45.9e-9), "0.0459 mg"},
		{phrase.Grams(45.9e-6), "45.9 mg"},
		{phrase.Grams(-1e-20), "0"},
		{phrase.Grams(5e-9), "< 0.01 mg"},
		{perCharge(1e-4, 2), "50.0 mg/kg"},
		{phrase.Pressure(500 * units.Micron), "500 micron (66.7 Pa)"},
		{phrase.Pressure(101325), "1013 mbar (101.3 kPa)"},
		{phrase.Took(98 * time.Second), "98 s"},
		{phrase.Took(3 * time.Minute), "3 min"},
		{phrase.Took(5 * time.Hour), "5.0 h"},
		{phrase.Digits(0, 3), "0"},
		{phrase.Digits(1234567, 3), "1234567"},
		{nitrogen(1), "1.00 mol (22.4 NL)"},
		{slug("Triple, with nitrogen!"), "triple-with-nitrogen"},
		{phrase.Listed([]string{"a", "b", "c"}), "a, b and c"},
		{phrase.Plural(1, "break"), "1 break"},
		{escape("a|b <i> *c*\n_d_"), "a|b &lt;i> \\*c\\* \\_d\\_"},
		{number(math.NaN()), ""},
	} {
		require.Equal(t, c.want, c.got)
	}
}
