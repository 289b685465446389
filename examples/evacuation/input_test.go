package main

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/examples/internal/phrase"
)

// Every bad input gets one line that names what is wrong, exit code 1 for files
// and values, 2 for flags, and nothing on standard output.
func TestBadInput(t *testing.T) {
	scenarioText := string(scenarioJob)
	_, procedures, found := strings.Cut(scenarioText, `"procedures"`)
	require.True(t, found)
	job := func(old, text string) func(*testing.T) []string {
		return func(t *testing.T) []string {
			require.Contains(t, scenarioText, old)
			return []string{"-job", write(t, "job.json", strings.Replace(scenarioText, old, text, 1))}
		}
	}
	log := func(text string) func(*testing.T) []string {
		return func(t *testing.T) []string {
			return []string{"-job", "scenario.json", "-log", write(t, "log.csv", text)}
		}
	}
	flags := func(args ...string) func(*testing.T) []string {
		return func(*testing.T) []string { return args }
	}
	for _, c := range []struct {
		name string
		args func(*testing.T) []string
		code int
		says []string
	}{
		{"unknown flag", flags("-frob"), 2, []string{"-frob"}},
		{"stray word", flags("job.json"), 2, []string{"job.json"}},
		{"volume without unit", flags("-volume", "12"), 2, []string{"-volume", "unit is missing", "L"}},
		{"volume of nothing", flags("-job", "scenario.json", "-log", "rise.csv", "-volume", "0 L"), 2, []string{"-volume = 0 m³", "accepted 1e-06 to"}},
		{"two ambients", flags("-log", "rise.csv", "-ambient", "990 hPa", "-altitude", "20 m"), 1, []string{"-ambient", "-altitude"}},
		{"no out", flags("-out", ""), 2, []string{"-out"}},
		{"missing job", flags("-job", "no-such.json"), 1, []string{"no-such.json"}},
		{"missing log", flags("-log", "no-such.csv"), 1, []string{"no-such.csv"}},
		{"job is a directory", flags("-job", "."), 1, []string{"directory"}},
		{"empty job", job(scenarioText, ""), 1, []string{"empty"}},
		{"torn job", job(scenarioText[700:], ""), 1, []string{"line", "JSON"}},
		{"unknown unit", job(`"8.5 L"`, `"8.5 furlong"`), 1, []string{"nodes[1].volume", "furlong", "m³"}},
		{"no unit", job(`"8.5 L"`, `"8.5"`), 1, []string{"nodes[1].volume", "unit is missing"}},
		{"bare number", job(`"8.5 L"`, `8.5`), 1, []string{"nodes[1].volume", "8.5"}},
		{"null", job(`"8.5 L"`, `null`), 1, []string{"nodes[1].volume", "null"}},
		{"negative", job(`"8.5 L"`, `"-8.5 L"`), 1, []string{"nodes[1].volume", "-0.0085", "at least 0"}},
		{"not a number", job(`"8.5 L"`, `"NaN L"`), 1, []string{"nodes[1].volume"}},
		{"infinite", job(`"8.5 L"`, `"Inf L"`), 1, []string{"nodes[1].volume"}},
		{"ambiguous unit", job(`"500 micron"`, `"0.01 psi"`), 1, []string{"psia", "psig"}},
		{"unknown field", job(`"charge"`, `"chrge"`), 1, []string{"chrge", "charge"}},
		{"field twice", job(`"charge": "3.4 kg",`, `"charge": "3.4 kg", "charge": "3 kg",`), 1, []string{"charge", "twice"}},
		{"too hot", job(`"27 °C"`, `"270 °C"`), 1, []string{"site.temperature", "270 °C", "accepted -50 to 60 °C"}},
		{"too humid", job(`"82 %"`, `"182 %"`), 1, []string{"humidity", "182 %", "100 %"}},
		{"no barometer", job(`"altitude": "35 m", `, ``), 1, []string{"altitude or barometer"}},
		{"below blank-off", job(`"200 micron"`, `"20 micron"`), 1, []string{"step 9", "cannot be reached", "blank-off", "3.333 Pa"}},
		{"break above rating", job(`"3 psig"`, `"300 psig"`), 1, []string{"step 2", "break pressure", "1.10091e+06"}},
		{"no rating", job(`"rating": "10 bar gauge",`, ``), 1, []string{"rating is missing"}},
		{"no such node", job(`"to": "low side"`, `"to": "lowside"`), 1, []string{"expansion valve", "lowside"}},
		{"node without link", job(`{"name": "tee", "volume": "0.25 L"},`, `{"name": "tee", "volume": "0.25 L"}, {"name": "drier", "volume": "1 L"},`), 1, []string{"drier", "no link"}},
		{"two kinds in a step", job(`{"isolate": {}}`, `{"isolate": {}, "hold": {"for": "1 min"}}`), 1, []string{"exactly one of"}},
		{"no procedure", job(procedures, `: []}`), 1, []string{"procedures", "at least one"}},
		{"rise flags without a record", flags("-job", "scenario.json", "-volume", "8 L"), 1, []string{"-volume", "-log"}},
		{"empty log", log(""), 1, []string{"log.csv"}},
		{"log without pressure unit", log("time [s];pressure\n0;1\n"), 1, []string{"log.csv:1", "unit", "micron", "-log-pressure-unit"}},
		{"log in gauge pressure", func(t *testing.T) []string {
			return []string{"-log", write(t, "log.csv", "time [min];p [psig]\n0;-14\n"), "-volume", "8 L", "-temperature", "20 °C", "-leak-limit", "1 micron/min"}
		}, 1, []string{"psig", "-ambient"}},
		{"log without a job", flags("-log", "rise.csv"), 1, []string{"-volume"}},
		{"log without temperature", flags("-log", "rise.csv", "-volume", "8 L"), 1, []string{"-temperature"}},
		{"log without limit", flags("-log", "rise.csv", "-volume", "8 L", "-temperature", "20 °C"), 1, []string{"-leak-limit"}},
		{"limit without unit", flags("-log", "rise.csv", "-volume", "8 L", "-temperature", "20 °C", "-leak-limit", "5"), 1, []string{"-leak-limit", "unit is missing"}},
		{"limit of zero rise", flags("-log", "rise.csv", "-volume", "8 L", "-temperature", "20 °C", "-leak-limit", "-1 micron/min"), 1, []string{"-leak-limit", "accepted 1e-15 to"}},
		{"hot circuit", flags("-log", "rise.csv", "-volume", "8 L", "-temperature", "200 °C", "-leak-limit", "1 micron/min"), 2, []string{"-temperature", "473.15", "373.15"}},
		{"out is a file", flags("-log", "rise.csv", "-volume", "8 L", "-temperature", "20 °C", "-leak-limit", "1 micron/min", "-out", "main.go"), 1, []string{"-out", "main.go"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := start(t, c.args(t)...)
			require.Equal(t, c.code, p.code, p.stderr)
			require.Empty(t, p.stdout)
			require.Equal(t, 1, strings.Count(p.stderr, "\n"), "one line: %q", p.stderr)
			for _, s := range c.says {
				require.Contains(t, p.stderr, s)
			}
			require.NotContains(t, p.stderr, "goroutine")
		})
	}
}

// Nonsense in a job or a log never panics.
func FuzzInputs(f *testing.F) {
	f.Add(minimalJob, "time [s];p [micron]\n0;100\n10;101,5\n")
	f.Add(`{"name": "x"}`, "elapsed (min),p[Pa]\n0,1\n")
	f.Fuzz(func(t *testing.T, job, log string) {
		if len(job) > 1<<12 || len(log) > 1<<12 {
			return
		}
		in := inputs{job: write(t, "job.json", job), log: write(t, "log.csv", log)}
		q, err := in.load()
		if err != nil {
			require.NotEmpty(t, phrase.OneLine(err.Error()))
			return
		}
		if _, err := q.judge(); err != nil {
			require.NotEmpty(t, fmt.Sprint(err))
		}
	})
}
