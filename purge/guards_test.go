package purge_test

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/purge"
	"example.com/drydown/units"
)

// A side that fills before a capillary reaches the rating long before the other
// reaches ambient pressure: the sweep stops there, the vent not yet open. Invented.
func TestFillingForASweepWatchesTheRating(t *testing.T) {
	j, err := purge.ReadJob(strings.NewReader(`{
		"name": "two sides", "site": {"altitude": "0 m", "temperature": "20 °C", "humidity": "50 %"},
		"rating": "10 bar gauge", "system": "low",
		"nodes": [{"name": "high", "volume": "2 L"}, {"name": "low", "volume": "20 L"}],
		"links": [{"name": "capillary", "from": "high", "to": "low", "passage": [{"capillary": {"bore": "0.7 mm", "length": "2.5 m"}}]}],
		"pump": {"node": "low", "displacement": "6 CFM", "blank_off": "25 micron"}, "gauge": {"node": "low"},
		"nitrogen": {"node": "high", "flow": "60 NL/min"}, "vent": {"node": "low", "passage": [{"valve_core": {}}]},
		"procedures": [{"name": "sweep", "steps": [{"pull": {"for": "30 min"}}, {"sweep": {"for": "5 min"}}]}]
	}`))
	require.NoError(t, err)
	rec, err := purge.Run(context.Background(), j, &j.Procedures[0], nil)
	require.ErrorContains(t, err, `filling the circuit for the sweep drives "high" above the rating`)
	rating := float64(units.Atmosphere) + 1e6
	require.InEpsilon(t, rating, float64(rec.Stages[1].Highest), 1e-3)
	for _, s := range rec.Samples {
		require.LessOrEqual(t, float64(s.Pressure[0]), rating*(1+1e-6))
	}
}

// The dew point that ends a sweep is that at ambient pressure, however far the flow
// raises the node above it.
func TestSweepEndsByTheDewPointAtAmbientPressure(t *testing.T) {
	j := vessel(t, "60 %", `{"sweep": {"dew_point": "-20 °C", "flow": "20 NL/min"}}`)
	j.Vent.Passage = []purge.JobPart{{Orifice: &purge.JobOrifice{Bore: 0.7 * units.Millimetre}}}
	rec := runSteps(t, j)
	end := rec.Samples[len(rec.Samples)-1]
	require.Greater(t, float64(end.Pressure[0]), 1.5*float64(units.Atmosphere))
	// 103.239 Pa at -20 °C, IAPWS R14-08, of one atmosphere.
	require.InEpsilon(t, 103.239/101325, float64(end.Vapour[0]/end.Pressure[0]), 1e-3)
}

// What lies behind a link that stays shut is not left in the circuit.
func TestShutOffHoseIsNotLeftInTheCircuit(t *testing.T) {
	plain := runSteps(t, vessel(t, "60 %", `{"pull": {"until": "1 mbar"}}`))
	j := vessel(t, "60 %", `{"pull": {"until": "1 mbar"}}`)
	j.Nodes = append(j.Nodes, purge.JobNode{Name: "hose", Volume: units.Litre})
	j.Links = append(j.Links, purge.JobLink{
		Name: "cap", From: "hose", To: j.Nodes[0].Name, Closed: true,
		Passage: []purge.JobPart{{Tube: &purge.JobTube{Bore: 5 * units.Millimetre, Length: 0.1}}},
	})
	rec := runSteps(t, j)
	require.InEpsilon(t, float64(plain.WaterLeft()), float64(rec.WaterLeft()), 1e-6)
	require.InEpsilon(t, float64(plain.NonCondensable()), float64(rec.NonCondensable()), 1e-6)
	require.Equal(t, plain.Stages[0].HighestNode, rec.Stages[0].HighestNode)
	final := rec.Final()
	require.Greater(t, float64(final.Inside()), 1.5*float64(rec.WaterLeft()))
}

// A node colder than the dew point of the site holds saturated air, and the record
// says what condensed: 0.9 times 4246.9 Pa less 611.7 Pa (saturation at 30 and 0.01 °C,
// IAPWS R7-97) in 40 L at 0.01 °C are 1.02 g by the gas law.
func TestWaterThatCondensedBeforeTheStartIsNamed(t *testing.T) {
	j := vessel(t, "90 %", `{"pull": {"until": "1 mbar"}}`)
	j.Site.Temperature = units.Celsius(30)
	cold := units.Celsius(0.01)
	j.Nodes[0].Temperature, j.Nodes[0].Volume = &cold, 40*units.Litre
	rec := runSteps(t, j)
	require.Contains(t, strings.Join(rec.Warnings, "\n"), "1.02 g of water condensed in it before the start")
}

// A rating is above ambient pressure and a number of this world, and a job that may not
// be read may not be run.
func TestRunRefusesWhatCheckRefuses(t *testing.T) {
	for _, rating := range []string{"0.5 bar", "0 bar gauge", "1e9 bar"} {
		j := vessel(t, "60 %", `{"sweep": {"for": "1 min"}}`)
		require.NoError(t, j.Rating.UnmarshalText([]byte(rating)))
		_, err := purge.Run(context.Background(), j, &j.Procedures[0], nil)
		require.ErrorIs(t, err, purge.ErrJob, rating)
		require.ErrorIs(t, err, units.ErrOutOfRange, rating)
	}
	j := vessel(t, "60 %", `{"sweep": {"for": "1 min"}}`)
	j.Site.Humidity = 1.5
	_, err := purge.Run(context.Background(), j, &j.Procedures[0], nil)
	require.ErrorIs(t, err, purge.ErrJob)
}

// Half of a circuit that is swept leaves the other half as it was.
func TestDeadLegKeepsItsWater(t *testing.T) {
	open := purge.Opened{Volume: 10 * units.Litre, AirTemperature: 293.15, Humidity: 0.5, Ambient: units.Atmosphere}
	sweep := purge.SweepThrough{Sweep: purge.Sweep{Volume: 5 * units.Litre, Mixing: 1}, Pressure: units.Atmosphere, Swept: 1}
	half, err := purge.WaterLeft(open, sweep)
	require.NoError(t, err)
	require.InDelta(t, 0.5, float64(half.Left/half.Entered), 1e-9)
	sweep.Sweep.Volume = 20 * units.Litre
	_, err = purge.WaterLeft(open, sweep)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	_, err = purge.WaterLeft(open, purge.SweepThrough{Sweep: purge.Sweep{Mixing: 1}, Swept: 1})
	require.ErrorContains(t, err, "Pressure")
}
