package purge_test

import (
	"bytes"
	"encoding/json"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/purge"
	"example.com/drydown/units"
)

// jobFile is an invented job with two procedures.
const jobFile = "../testdata/jobs/two-hoses.json"

// sampleJob reads the invented job.
func sampleJob(t testing.TB) *purge.Job {
	t.Helper()
	f, err := os.Open(jobFile)
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	j, err := purge.ReadJob(f)
	require.NoError(t, err)
	return j
}

func jobText(t testing.TB) string {
	t.Helper()
	raw, err := os.ReadFile(jobFile)
	require.NoError(t, err)
	return string(raw)
}

// Every defect of a job file gets one error that names the field and what is
// accepted. Each row replaces one piece of a good job.
func TestJobRefusals(t *testing.T) {
	good := jobText(t)
	for _, c := range []struct {
		name, old, new string
		text           string
		outOfRange     bool
	}{
		{"unknown unit", `"volume": "4 L"`, `"volume": "4 firkin"`, `job.nodes[1].volume`, false},
		{"ambiguous unit", `"until": "500 micron"`, `"until": "0.1 psi"`, `psia`, false},
		{"bare number", `"volume": "4 L"`, `"volume": 4`, `job.nodes[1].volume`, false},
		{"humidity without %", `"humidity": "75 %"`, `"humidity": "0.75"`, `job.site.humidity`, false},
		{"unknown field", `"charge"`, `"chargge"`, `unknown field "chargge", accepted are charge,`, false},
		{"field twice", `"charge": "2.4 kg",`, `"charge": "2.4 kg", "charge": "2.5 kg",`, `"charge" appears twice`, false},
		{"null", `"charge": "2.4 kg"`, `"charge": null`, `job.charge: null is not a value`, false},
		{"wrong kind", `"nodes": [`, `"nodes": {"a": [`, ``, false},
		{"text for a list", `"vent": {`, `"vent": "open", "name": {`, `job.vent: expected an object in { } with node, passage`, false},
		{"zero volume", `"volume": "4 L"`, `"volume": "0 L"`, `nodes[1].volume = 0 m³`, true},
		{"no barometer", `"altitude": "100 m", `, ``, `altitude or barometer is missing`, false},
		{"two barometers", `"altitude": "100 m"`, `"altitude": "100 m", "barometer": "1000 mbar"`, `not both`, false},
		{"no humidity", `, "humidity": "75 %"`, ``, `job.site: field "humidity" is missing`, false},
		{"no blank-off", `"blank_off": "20 micron", `, ``, `job.pump: field "blank_off" is missing`, false},
		{"hose without length", `{"hose": {"bore": "9 mm", "length": "1 m"}}`, `{"hose": {"bore": "9 mm"}}`, `field "length" is missing`, false},
		{"watch without time", `{"watch": {"for": "15 min"}}`, `{"watch": {}}`, `watch: field "for" is missing`, false},
		{"more water than room", `"water": "5 g"`, `"water": "6 kg"`, `nodes[2].puddles[1].water = 6 kg, accepted 0 to 5 kg`, true},
		{"ballast better than none", `"ballast_blank_off": "200 micron"`, `"ballast_blank_off": "10 micron"`, `pump.ballast_blank_off`, true},
		{"blind gauge", `"ceiling": "20000 micron"`, `"ceiling": "10 micron"`, `gauge.ceiling`, true},
		{"hot site", `"temperature": "22 °C"`, `"temperature": "220 °C"`, `site.temperature`, true},
		{"no such node", `"from": "high side", "to": "low side"`, `"from": "attic", "to": "low side"`, `there is no node "attic"`, false},
		{"no such system", `"system": "low side"`, `"system": "attic"`, `system: there is no node "attic"`, false},
		{"no such valve", `"valve": "pump hose"`, `"valve": "tap"`, `pump.valve: there is no link "tap"`, false},
		{"reserved name", `{"name": "high side", "volume": "4 L"}`, `{"name": "ambient", "volume": "4 L"}`, `"ambient"`, false},
		{"two parts in one", `{"core_tool": {}}`, `{"core_tool": {}, "valve_core": {}}`, `exactly one of tube, hose`, false},
		{"zero bore", `"capillary": {"bore": "1.2 mm"`, `"capillary": {"bore": "0 mm"`, `links[1] "expansion device"`, true},
		{"unknown fill", `"volume": "4 L"`, `"volume": "4 L", "holds": "steam"`, `accepted are air, nitrogen`, false},
		{"no procedure", `"procedures": [`, `"procedures": [], "note": [`, ``, false},
		{"two kinds of step", `{"isolate": {}}`, `{"isolate": {}, "watch": {"for": "1 min"}}`, `step 2`, false},
		{"step without kind", `{"isolate": {}}`, `{"name": "rest"}`, `step 2 (rest): exactly one of sweep, pull`, false},
		{"negative time", `{"watch": {"for": "15 min"}}`, `{"watch": {"for": "-15 min"}}`, ``, false},
		{"target below blank-off", `"until": "500 micron"`, `"until": "15 micron"`, `not above the pump's blank-off`, false},
		{"target above ambient", `"until": "500 micron"`, `"until": "3 bar"`, `until = 300000 Pa`, true},
		{"break above rating", `"to": "2 psig"`, `"to": "600 psig"`, `break pressure`, true},
		{"no rating", `"rating": "30 barg", `, ``, `rating is missing`, false},
		{"bleed below ambient", `{"bleed": {}}`, `{"bleed": {"to": "0.5 bar"}}`, `an open vent cannot`, true},
		{"pull at no node", `"until": "2000 micron"`, `"until": "2000 micron", "at": "attic"`, `at: there is no node "attic"`, false},
		{"ballast below its blank-off", `"ballast_above": "5 mbar"`, `"ballast_above": "100 micron"`, `ballast_above`, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Contains(t, good, c.old)
			_, err := purge.ReadJob(strings.NewReader(strings.Replace(good, c.old, c.new, 1)))
			require.ErrorIs(t, err, purge.ErrJob)
			require.ErrorContains(t, err, c.text)
			if c.outOfRange {
				require.ErrorIs(t, err, units.ErrOutOfRange)
			}
			require.NotContains(t, err.Error(), "NaN")
		})
	}
}

// A sweep needs a supply, a vent and an open way between.
func TestNeverSweepIntoAClosedEnd(t *testing.T) {
	sweep := purge.Procedure{Name: "sweep", Steps: []purge.Step{{Sweep: &purge.SweepStep{For: units.Duration(60e9)}}}}
	for name, spoil := range map[string]func(*purge.Job){
		"no vent":          func(j *purge.Job) { j.Vent = nil },
		"no supply":        func(j *purge.Job) { j.Nitrogen = nil },
		"way through pump": func(j *purge.Job) { j.Nitrogen.Node = "pump inlet" },
	} {
		t.Run(name, func(t *testing.T) {
			j := sampleJob(t)
			spoil(j)
			j.Procedures = []purge.Procedure{sweep}
			require.ErrorIs(t, j.Check(), purge.ErrJob)
		})
	}
}

// Torn and empty files are told apart, with the line where the text breaks.
func TestTornJob(t *testing.T) {
	good := jobText(t)
	for name, c := range map[string]struct{ text, want string }{
		"empty":     {"", "the file is empty"},
		"blank":     {" \n\t", "the file is empty"},
		"torn":      {good[:len(good)/2], "line"},
		"two":       {good + good, "line"},
		"not JSON":  {"name: job", "line 1"},
		"an array":  {"[]", "expected an object in { } with charge"},
		"a number":  {"7", "expected an object"},
		"too large": {`{"name":"` + strings.Repeat("x", 17<<20) + `"}`, "more than"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := purge.ReadJob(strings.NewReader(c.text))
			require.ErrorIs(t, err, purge.ErrJob)
			require.ErrorContains(t, err, c.want)
		})
	}
	_, err := purge.ReadJob(strings.NewReader("\xef\xbb\xbf" + good))
	require.NoError(t, err, "a byte-order mark is no defect")
}

// A job written and read again is the same job.
func TestJobRoundTrip(t *testing.T) {
	j := sampleJob(t)
	text, err := json.Marshal(j)
	require.NoError(t, err)
	again, err := purge.ReadJob(bytes.NewReader(text))
	require.NoError(t, err, "%s", text)
	require.Equal(t, j, again)
}

func FuzzReadJob(f *testing.F) {
	f.Add(jobText(f))
	f.Add(`{"site": {}}`)
	f.Add(`{"procedures": [{"steps": [{"pull": {}}]}]}`)
	f.Add(`{"nodes": [{"name": "a", "volume": "1 L", "puddles": [{"water": "1e300 g"}]}]}`)
	f.Fuzz(func(t *testing.T, text string) {
		j, err := purge.ReadJob(strings.NewReader(text))
		if (j == nil) == (err == nil) {
			t.Fatalf("job %v with error %v", j, err)
		}
	})
}
