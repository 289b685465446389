package purge_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/moisture"
	"example.com/drydown/purge"
	"example.com/drydown/units"
)

func runSteps(t testing.TB, j *purge.Job) *purge.Record {
	t.Helper()
	rec, err := purge.Run(context.Background(), j, &j.Procedures[0], nil)
	require.NoError(t, err)
	return rec
}

// A break by amount raises the pressure by n R T/V.
func TestBreakByAmount(t *testing.T) {
	j := vessel(t, "0 %", `{"pull": {"until": "1 mbar"}}, {"break": {"nitrogen": "5 NL"}}`)
	rec := runSteps(t, j)
	require.Equal(t, "amount let in", rec.Stages[1].Why)
	// Ideal gas: 5 normal litres in 10 L at 20 °C, and the millibar there was.
	want := 101325*5e-3/273.15*293.15/10e-3 + 100
	require.InEpsilon(t, want, float64(rec.Stages[1].System), 1e-5)
	require.InEpsilon(t, 101325*5e-3/(units.GasConstant*273.15), float64(rec.Nitrogen()), 1e-6)
}

// A sweep ends at the dew point of the leaving gas, or after an amount of
// nitrogen, whichever comes first.
func TestSweepEnds(t *testing.T) {
	rec := runSteps(t, vessel(t, "60 %", `{"sweep": {"dew_point": "-20 °C"}}`))
	require.Contains(t, rec.Stages[0].Why, "water vapour in vessel")
	// 0.6 of saturation at 20 °C falls to the frost point -20 °C (103.239 Pa,
	// IAPWS R14-08) after ln(0.6·2339.2/103.239) volumes, Crowl and Louvar with
	// K = 1; the vent's resistance is worth less than 1 %.
	full := 101325 * 0.010 / (units.GasConstant * 293.15)
	require.InEpsilon(t, math.Log(0.6*2339.2/103.239), float64(rec.Nitrogen())/full, 0.01)

	rec = runSteps(t, vessel(t, "60 %", `{"sweep": {"nitrogen": "5 NL", "dew_point": "-20 °C"}}`))
	require.Contains(t, rec.Stages[0].Why, "admitted")
	rec = runSteps(t, vessel(t, "60 %", `{"sweep": {"nitrogen": "500 NL", "for": "10 s"}}`))
	require.Equal(t, "time over before the end that was asked for", rec.Stages[0].Why)
}

// Opening the refrigerant hose under vacuum brings in the air and the vapour
// that it held: p V/(R T) of it, by the gas law.
func TestChangeoverBringsInWhatTheHoseHeld(t *testing.T) {
	j := sampleJob(t)
	j.Nodes = append(j.Nodes, purge.JobNode{Name: "charging hose", Volume: 50 * units.Millilitre})
	j.Links = append(j.Links, purge.JobLink{
		Name: "charging valve", From: "charging hose", To: "low side", Closed: true,
		Passage: []purge.JobPart{{Tube: &purge.JobTube{Bore: 5 * units.Millimetre, Length: 0.1}}},
	})
	j.Procedures = []purge.Procedure{{Name: "charge", Steps: []purge.Step{
		j.Procedures[0].Steps[0],
		{Changeover: &purge.ChangeoverStep{Link: "charging valve"}},
	}}}
	require.NoError(t, j.Check())
	rec := runSteps(t, j)
	s := rec.Stages[1]
	require.NotNil(t, s.Brought)
	ambient, err := units.StandardAtmosphere(100)
	require.NoError(t, err)
	sat, err := moisture.SaturationPressureLiquid(units.Celsius(22))
	require.NoError(t, err)
	rt := units.GasConstant * 295.15
	vapour := 0.75 * float64(sat) * 50e-6 / rt
	require.InEpsilon(t, vapour*float64(moisture.MolarMass), float64(s.Brought.Water), 1e-3)
	require.InEpsilon(t, (float64(ambient)-0.75*float64(sat))*50e-6/rt, float64(s.Brought.NonCondensable), 1e-3)
	require.Contains(t, strings.Join(rec.Warnings, "\n"), "charging valve")
}

// Heat on the wet spot shortens the pull; the temperature holds from its step on.
func TestWarmNode(t *testing.T) {
	cold := sampleJob(t)
	warm := sampleJob(t)
	warm.Procedures[0].Steps[0].Warm = []purge.WarmNode{{Node: "low side", To: units.Celsius(50)}}
	require.NoError(t, warm.Check())
	require.Less(t, runSteps(t, warm).Stages[0].End, 8*runSteps(t, cold).Stages[0].End/10)
}

// A shut circuit under nitrogen that is warmed beyond its rating stops the run.
func TestWarmingAShutCircuitKeepsTheRating(t *testing.T) {
	j := vessel(t, "0 %", `{"break": {"to": "9.9 barg"}}, {"hold": {"for": "5 min"}, "warm": [{"node": "vessel", "to": "60 °C"}]}`)
	rec, err := purge.Run(context.Background(), j, &j.Procedures[0], nil)
	require.ErrorContains(t, err, `step 2 (hold): "vessel" rises above the rating`)
	require.Len(t, rec.Stages, 2)
	require.Contains(t, rec.Reason, "rating")
}

// A gauge behind its own valve is shut off while the circuit is above ambient.
func TestGaugeValve(t *testing.T) {
	j := sampleJob(t)
	j.Nodes = append(j.Nodes, purge.JobNode{Name: "gauge tee", Volume: 5 * units.Millilitre})
	j.Links = append(j.Links, purge.JobLink{
		Name: "gauge valve", From: "low side", To: "gauge tee",
		Passage: []purge.JobPart{{Tube: &purge.JobTube{Bore: 4 * units.Millimetre, Length: 0.05}}},
	})
	j.Gauge.Node, j.Gauge.Valve = "gauge tee", "gauge valve"
	j.Procedures[0].Steps = []purge.Step{
		{Pull: &purge.PullStep{Until: units.AbsoluteReading(2000 * units.Micron)}},
		{Break: &purge.BreakStep{To: units.GaugeReading(2 * units.PSIG)}},
	}
	require.NoError(t, j.Check())
	rec := runSteps(t, j)
	require.False(t, rec.Stages[1].Gauge.OverRange)
	require.Less(t, float64(rec.Stages[1].Gauge.Pressure), 300.0)
	require.Greater(t, float64(rec.Stages[1].System), 1e5)
}

// The gauge is not the water: with wet oil a circuit reads 500 micron while
// nearly all its moisture is still in the oil, and it comes back on watching.
func TestOilKeepsItsWater(t *testing.T) {
	j := sampleJob(t)
	j.Nodes[1].Puddles = nil
	j.Nodes[1].Oils = []purge.JobOil{{
		Name: "compressor oil", Mass: 1.2, Water: 200 * units.MilligramPerKilogram,
		Saturation: []purge.JobSaturation{
			{Temperature: units.Celsius(20), Content: 1200 * units.MilligramPerKilogram},
			{Temperature: units.Celsius(60), Content: 2400 * units.MilligramPerKilogram},
		},
		Exchange: units.Duration(6 * time.Hour),
	}}
	require.NoError(t, j.Check())
	rec := runSteps(t, j)
	pull, watch := rec.Stages[0], rec.Stages[2]
	require.Less(t, float64(pull.Gauge.Pressure), float64(500*units.Micron))
	require.Greater(t, float64(pull.Stored.Dissolved), 0.9*1.2*200e-6)
	require.Greater(t, float64(watch.System), 1.5*float64(pull.System))
	j.Nodes[1].Oils[0].Saturation = j.Nodes[1].Oils[0].Saturation[:1]
	require.ErrorContains(t, j.Check(), "two are needed")
}

// New steps are refused by name.
func TestStepRefusals(t *testing.T) {
	for text, want := range map[string]string{
		`{"sweep": {}}`:                      "at least one of for, nitrogen, dew_point",
		`{"sweep": {"dew_point": "-90 °C"}}`: "pressure cannot be reached",
		`{"break": {}}`:                      "at least one of to, nitrogen",
		`{"changeover": {"link": "tap"}}`:    `there is no link "tap"`,
		`{"hold": {"for": "1 min"}, "warm": [{"node": "attic", "to": "40 °C"}]}`:   `warm: there is no node "attic"`,
		`{"hold": {"for": "1 min"}, "warm": [{"node": "vessel", "to": "400 °C"}]}`: "warm: to",
	} {
		raw := `{"name": "one vessel", "site": {"barometer": "101325 Pa", "temperature": "20 °C", "humidity": "50 %"},
		"rating": "10 barg", "nodes": [{"name": "vessel", "volume": "10 L"}], "links": [],
		"pump": {"node": "vessel", "displacement": "100 L/min", "blank_off": "1 Pa"}, "gauge": {"node": "vessel"},
		"nitrogen": {"node": "vessel", "flow": "60 NL/min", "moisture": "5 µmol/mol"},
		"vent": {"node": "vessel", "passage": [{"orifice": {"bore": "12 mm"}}]},
		"procedures": [{"name": "p", "steps": [` + text + `]}]}`
		_, err := purge.ReadJob(strings.NewReader(raw))
		require.ErrorContains(t, err, want, text)
		require.ErrorIs(t, err, purge.ErrJob, text)
	}
}

// Does breaking the vacuum thaw ice fast enough to pay? The answer hangs on the
// share of the heat that gas must carry, because only that share is lost in a
// deep vacuum. The test walks the share up from nothing at one total heat
// conductance at atmospheric pressure and prints both times to 0.1 g of water
// left. What comes out is printed, not required.
func TestWhereABreakBeginsToPay(t *testing.T) {
	const total = 0.5 // W/K at atmospheric pressure
	crossed := "a break never paid"
	for _, share := range []float64{0, 0.25, 0.5, 0.75, 0.9, 0.97} {
		pull, broken := pullAndBreak(t, total, share)
		t.Logf("gas carries %3.0f %%: one pull %5.1f min, with breaks %5.1f min", 100*share, pull.Minutes(), broken.Minutes())
		if broken < pull && strings.HasPrefix(crossed, "a break never") {
			crossed = fmt.Sprintf("a break first paid with %.0f %% of the heat carried by gas", 100*share)
		}
	}
	t.Log(crossed)
}

// pullAndBreak is the time until 0.1 g of 5 g is left by one pull, and by
// pulls of ten minutes with a nitrogen break and a hold of ten minutes between.
func pullAndBreak(t *testing.T, total, share float64) (pull, broken time.Duration) {
	j := sampleJob(t)
	p := &j.Nodes[1].Puddles[0]
	p.Metal = units.HeatConductance(total * (1 - share))
	p.Gap = 0
	if share > 0 {
		// Conduction through still nitrogen, 0.0256 W/(m K) at 22 °C: the gap
		// that carries the share.
		p.Gap = units.Length(0.0256 * float64(p.Area) / (total * share))
	}
	pullFor := purge.Step{Pull: &purge.PullStep{For: units.Duration(10 * time.Minute), BallastAbove: units.AbsoluteReading(5 * units.Millibar)}}
	brk := purge.Step{Break: &purge.BreakStep{To: units.GaugeReading(2 * units.PSIG)}}
	hold := purge.Step{Hold: &purge.HoldStep{For: units.Duration(10 * time.Minute)}}
	bleed := purge.Step{Bleed: &purge.BleedStep{}}
	var plain, breaks []purge.Step
	for range 12 {
		plain = append(plain, pullFor)
		breaks = append(breaks, pullFor, brk, hold, bleed)
	}
	return timeTo(t, j, plain), timeTo(t, j, breaks)
}

// timeTo is when a run first holds less than 0.1 g.
func timeTo(t *testing.T, j *purge.Job, steps []purge.Step) time.Duration {
	rec, err := purge.Run(context.Background(), j, &purge.Procedure{Name: "x", Steps: steps}, nil)
	require.NoError(t, err)
	for _, s := range rec.Samples {
		if s.Content[0].Total() < 0.1*units.Gram {
			return s.Time
		}
	}
	return rec.Took()
}
