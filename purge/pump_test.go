package purge

import (
	"bytes"
	"context"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// changedJob is an invented job, its text changed before it is read.
func changedJob(t testing.TB, before, after string) (*Job, error) {
	t.Helper()
	text := asJSON(t, inventedJob(t, "two-hoses"))
	require.Contains(t, text, before)
	return ReadJob(strings.NewReader(strings.Replace(text, before, after, 1)))
}

func ranFirst(t testing.TB, j *Job) *Record {
	t.Helper()
	r, err := Run(context.Background(), j, &j.Procedures[0], nil)
	require.NoError(t, err)
	return r
}

// A curve that is flat is nearly a displacement, which falls off towards the
// blank-off, and one that sags at low pressure
// takes longer. Scaling acts on both.
func TestPumpCurveOfAJob(t *testing.T) {
	plain := inventedJob(t, "two-hoses")
	flat := deepCopy(plain)
	speed := plain.Pump.Displacement
	flat.Pump.Displacement = 0
	flat.Pump.Curve = []JobSpeed{{10, speed}, {1e5, speed}}
	require.NoError(t, flat.Check())
	want := ranFirst(t, plain).Took().Seconds()
	require.InEpsilon(t, want, ranFirst(t, flat).Took().Seconds(), 1e-3)

	sagging := deepCopy(flat)
	sagging.Pump.Curve[0].Speed = speed / 4
	require.NoError(t, sagging.Check())
	require.Greater(t, ranFirst(t, sagging).Took().Seconds(), 1.01*want)

	sagging.Pump.ScaleSpeed(2)
	require.Equal(t, []JobSpeed{{10, speed / 2}, {1e5, 2 * speed}}, sagging.Pump.Curve)
	require.Equal(t, []JobSpeed{{10, speed}, {1e5, speed}}, flat.Pump.Curve)
	// A band must not lift the blank-off, 2.67 Pa, above the curve.
	sagging.Pump.Curve[0].Pressure = 4
	s := sagging.Pump.blankOffSpread()
	require.Less(t, float64(sagging.Pump.BlankOff)*s.High, 4.0)
	require.NoError(t, s.Check())
}

// A thermal gauge ends the pull by what it shows: the last of this gas is
// vapour, which it reads twice (vacuum.ThermalSensitivity), so that the system
// is deeper and the pull longer than with a gauge that reads true.
func TestThermalGaugeEndsThePull(t *testing.T) {
	plain := inventedJob(t, "two-hoses")
	thermal, err := changedJob(t, `"gauge":{`, `"gauge":{"thermal":true,"bottom":"1 micron",`)
	require.NoError(t, err)
	for _, j := range []*Job{plain, thermal} {
		j.Procedures[0].Steps = j.Procedures[0].Steps[:1]
		j.Procedures[0].Steps[0].Pull.For = 0
	}
	a, b := ranFirst(t, plain), ranFirst(t, thermal)
	last, deeper := a.Stages[0], b.Stages[0]
	require.InDelta(t, 500, last.Gauge.Pressure.In(units.Micron), 1)
	require.InDelta(t, 500, deeper.Gauge.Pressure.In(units.Micron), 1)
	samples := b.Samples
	end := samples[len(samples)-1]
	at := 1 // the gauge's node
	wet, total := end.Vapour[at], end.Pressure[at]
	require.InDelta(t, 500, (total + wet).In(units.Micron), 1)
	require.Greater(t, float64(wet/total), 0.5)
	require.Less(t, float64(deeper.System), 0.7*float64(last.System))
	require.Greater(t, b.Took(), a.Took())
	require.Contains(t, strings.Join(b.Warnings, "\n"), "water vapour, which it reads too high")
	require.NotContains(t, strings.Join(a.Warnings, "\n"), "too high")
}

// Oil that takes up water lifts the blank-off above the target, which the error
// names; the water in it is one of the ways out. What comes back at the
// blank-off is the gas that the job names.
func TestPumpOilAndReturnOfAJob(t *testing.T) {
	plain := inventedJob(t, "two-hoses")
	plain.Procedures[0].Steps = plain.Procedures[0].Steps[:1]
	oily := deepCopy(plain)
	oily.Pump.Oil = &JobPumpOil{Mass: 2, Saturation: []JobSaturation{{units.Celsius(20), 400e-6}, {units.Celsius(60), 1200e-6}}}
	require.NoError(t, oily.Check())
	dry := ranFirst(t, plain)
	wet, err := Run(context.Background(), oily, &oily.Procedures[0], nil)
	require.ErrorIs(t, err, ErrUnreachable)
	require.ErrorContains(t, err, "the pump's blank-off of")
	require.ErrorContains(t, err, "lifted from 2.666 Pa (20 micron) by water in its oil")
	// What circulates between oil and inlet is not counted twice.
	kept, ledger := units.Mass(0), wet.Stages[0].Ledger
	for _, m := range wet.Stages[0].Moved {
		if m.Way == vacuum.ByPumpOil {
			kept += m.Water
		}
	}
	require.Greater(t, float64(kept), 1e-6)
	require.Less(t, float64(kept), float64(ledger.InitialWater()))
	require.Greater(t, float64(ledger.Circulated()), float64(kept))
	require.InDelta(t, 0, float64(ledger.Entered()-ledger.Circulated()), 1e-12)
	require.InDelta(t, float64(ledger.InitialWater()-ledger.Inside()), float64(ledger.Left()-ledger.Circulated()), 1e-9)
	require.NoError(t, ledger.Check())

	none := deepCopy(plain)
	none.Pump.Return = "none"
	require.NoError(t, none.Check())
	require.NotEqual(t, dry.Took(), ranFirst(t, none).Took())
}

// What is wrong with a pump is said under the job's names.
func TestPumpRefusals(t *testing.T) {
	displacement := `"displacement":"` // as the job writes it
	text := asJSON(t, inventedJob(t, "two-hoses"))
	from := strings.Index(text, displacement)
	whole := text[from : from+len(displacement)+strings.Index(text[from+len(displacement):], `"`)+1]
	for _, c := range []struct{ new, want string }{
		{`"return":"air"`, "exactly one of displacement and curve"},
		{whole + `,"curve":[{"pressure":"10 Pa","speed":"3 CFM"},{"pressure":"1 kPa","speed":"4 CFM"}]`, "exactly one of displacement and curve"},
		{`"curve":[{"pressure":"10 Pa","speed":"3 CFM"}]`, "pump.curve: one point, two or more are needed"},
		{`"curve":[{"pressure":"10 Pa","speed":"3 CFM"},{"pressure":"5 Pa","speed":"4 CFM"}]`, "pump.curve[2].pressure = 5 Pa, accepted above 10 Pa, that of the point before"},
		{`"curve":[{"pressure":"1 Pa","speed":"3 CFM"},{"pressure":"1 kPa","speed":"4 CFM"}]`, "pump.blank_off = 2.66645 Pa, accepted at most 99 % of pump.curve[1].pressure, which is 1 Pa"},
		{`"curve":[{"pressure":"10 Pa"}]`, `job.pump.curve[1]: field "speed" is missing`},
		{whole + `,"return":"helium"`, "accepted are air, nitrogen, none"},
		{whole + `,"oil":{"mass":"0.5 kg"}`, `job.pump.oil: field "saturation" is missing`},
		{whole + `,"oil":{"mass":"0.5 kg","saturation":[]}`, "pump.oil.saturation: 0 points, two are needed"},
		{whole + `,"oil":{"mass":"0 kg","saturation":[{"temperature":"20 °C","content":"300 mg/kg"},{"temperature":"60 °C","content":"900 mg/kg"}]}`, "pump.oil.mass = 0 kg, accepted 0.01 to 1000 kg"},
		{whole + `,"exhaust_temperature":"-5 °C"`, "pump.exhaust_temperature = -5 °C, accepted 0.01 to 99.85 °C"},
		{whole + `,"exhaust_temperature":"99.8 °C"`, "pump.exhaust_temperature = 99.8 °C, accepted below boiling"},
		{whole + `,"oil":{"mass":"0.5 kg","temperature":"-1 °C","saturation":[{"temperature":"20 °C","content":"300 mg/kg"},{"temperature":"60 °C","content":"900 mg/kg"}]}`, "pump.oil.temperature = -1 °C, accepted 0.01 to 99.85 °C"},
		{`"curve":[{"pressure":"10 Pa","speed":"3 CFM"},{"pressure":"10 Pa","speed":"4 CFM"}]`, "pump.curve[2].pressure = 10 Pa, accepted above 10 Pa"},
		{`"curve":[{"pressure":"10 Pa","speed":"0 CFM"},{"pressure":"1 kPa","speed":"4 CFM"}]`, "pump.curve[1].speed = 0 m³/s, accepted 1e-09 to"},
		{`"displacement":"0 CFM"`, "exactly one of displacement and curve"},
	} {
		_, err := changedJob(t, whole, c.new)
		require.ErrorIs(t, err, ErrJob, c.new)
		require.ErrorContains(t, err, c.want, c.new)
	}
	var b bytes.Buffer
	b.WriteString(strings.Replace(text, `"gauge":{`, `"gauge":{"thermal":"yes",`, 1))
	_, err := ReadJob(&b)
	require.ErrorContains(t, err, "job.gauge.thermal")
}

// A gauge that shows nothing, and a pull that ends at a reading which its gauge
// cannot show, are refused; another node's pressure may end it.
func TestGaugeRangeOfAJob(t *testing.T) {
	for _, c := range []struct{ gauge, want string }{
		{`"bottom":"1000 micron"`, "until 66.66 Pa (500 micron) is below gauge.bottom of 133.3 Pa (1000 micron)"},
		{`"ceiling":"100 micron"`, "is above gauge.ceiling of 13.33 Pa (100 micron)"},
		{`"bottom":"500 micron","ceiling":"500 micron"`, "is not below gauge.ceiling of"},
		{`"bottom":"3 bar"`, "gauge.bottom = 300000 Pa, accepted 0 to 100000 Pa"},
	} {
		_, err := bareGauge(t, c.gauge)
		require.ErrorIs(t, err, ErrJob, c.gauge)
		require.ErrorContains(t, err, c.want, c.gauge)
	}
	// At the edge of its range it still shows it, and in a band it goes on so.
	edge, err := bareGauge(t, `"bottom":"500 micron"`)
	require.NoError(t, err)
	p := &edge.Procedures[0]
	for _, f := range []float64{0.93, 1.07} {
		job, proc := deepCopy(edge), deepCopy(p)
		misread(job, proc, f)
		rig, err := job.build()
		require.NoError(t, err)
		require.NoError(t, proc.check(rig))
	}
	edge.Gauge.Bottom *= 2
	require.ErrorIs(t, edge.Check(), ErrJob)
	p.Steps[0].Pull.At = "high side"
	require.NoError(t, edge.Check())
}

// bareGauge is a job whose gauge has no range but what is put in.
func bareGauge(t *testing.T, with string) (*Job, error) {
	t.Helper()
	j := inventedJob(t, "two-hoses")
	j.Gauge.Ceiling, j.Gauge.Bottom = 0, 0
	j.Procedures = j.Procedures[:1]
	return ReadJob(strings.NewReader(strings.Replace(asJSON(t, j), `"gauge":{`, `"gauge":{`+with+`,`, 1)))
}

// A factor that makes no sense is not taken in silence: the job is refused.
func TestScaledSpeedIsChecked(t *testing.T) {
	for _, factor := range []float64{-1, 0, math.NaN(), math.Inf(1)} {
		plain := inventedJob(t, "two-hoses")
		curved := deepCopy(plain)
		curved.Pump.Curve = []JobSpeed{{10, plain.Pump.Displacement}, {1e5, plain.Pump.Displacement}}
		curved.Pump.Displacement = 0
		for _, j := range []*Job{plain, curved} {
			j.Pump.ScaleSpeed(factor)
			require.ErrorIs(t, j.Check(), ErrJob)
			_, err := Run(context.Background(), j, &j.Procedures[0], nil)
			require.ErrorIs(t, err, ErrJob)
		}
	}
}

// A plan pulls to no pressure that the gauge does not show.
func TestPlanKeepsToTheGauge(t *testing.T) {
	j := inventedJob(t, "two-hoses")
	targets := func() (out []float64) {
		s, err := newPlanner(j, Goal{}, nil)
		require.NoError(t, err)
		for _, k := range s.settings {
			if k.name == "pressure of the pulls" {
				for _, set := range k.set {
					var c Choice
					set(&c)
					out = append(out, c.Target.In(units.Micron))
				}
			}
		}
		return out
	}
	require.InDeltaSlice(t, []float64{5000, 2000, 1000, 500}, targets(), 1e-6)
	j.Gauge.Bottom, j.Gauge.Ceiling = 600*units.Micron, 2000*units.Micron
	require.InDeltaSlice(t, []float64{2000, 1000}, targets(), 1e-6)
}
