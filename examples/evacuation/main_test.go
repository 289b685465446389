package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// program is one run of the program.
type program struct {
	code           int
	stdout, stderr string
	out            string
}

// start runs the program with its output in a directory of the test.
func start(t *testing.T, args ...string) program {
	t.Helper()
	return startIn(context.Background(), t.TempDir(), args...)
}

func startIn(ctx context.Context, dir string, args ...string) program {
	var stdout, stderr bytes.Buffer
	code := run(ctx, append([]string{"-out", dir}, args...), &stdout, &stderr)
	return program{code, stdout.String(), stderr.String(), dir}
}

// scenarioRun is the program without arguments, run once for all tests.
var scenarioRun = sync.OnceValues(func() (program, error) {
	dir, err := os.MkdirTemp("", "evacuation-test")
	return startIn(context.Background(), dir), err
})

func runScenario(t *testing.T) program {
	t.Helper()
	p, err := scenarioRun()
	require.NoError(t, err)
	require.Equal(t, exitGood, p.code, p.stderr)
	return p
}

func TestMain(m *testing.M) {
	code := m.Run()
	if p, err := scenarioRun(); err == nil {
		_ = os.RemoveAll(p.out)
	}
	os.Exit(code)
}

// write puts text into a file of the test.
func write(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

// notNumbers finds what a report must never print.
var notNumbers = regexp.MustCompile(`NaN|[+-]?Inf\b|%!|<nil>|e\+\d\d`)

func TestScenarioReportInOrder(t *testing.T) {
	p := runScenario(t)
	order := []string{
		"Invented for demonstration", "Water left\n", "left in all", "in suction trap", "per charge of", "limit 30 mg/kg",
		"Pressure, time and nitrogen, step by step\n", "Water ledger\n", "Which procedure is better, and why\n",
		"How far the answer is known\n", "Which inputs drive it\n", "What changing the rig buys\n",
		"What the rise test shows\n", "It was long enough: ", "What the answer hinges on\n",
		"Rules of the trade and the model\n", "Cautions\n", "Files in ",
	}
	at := 0
	for _, part := range order {
		i := strings.Index(p.stdout[at:], part)
		require.GreaterOrEqual(t, i, 0, "%q is missing or out of order in:\n%s", part, p.stdout)
		at += i
	}
	require.NotRegexp(t, notNumbers, p.stdout)
	for _, line := range strings.Split(p.stdout, "\n") {
		require.LessOrEqual(t, len([]rune(line)), 125, line)
	}
}

func TestScenarioFiles(t *testing.T) {
	p := runScenario(t)
	report, err := os.ReadFile(filepath.Join(p.out, "report.md"))
	require.NoError(t, err)
	require.NotRegexp(t, notNumbers, string(report))
	require.True(t, strings.HasPrefix(string(report), "# Evacuation report: "))
	pictures := regexp.MustCompile(`!\[[^\n]*\]\(([^)]+)\)`).FindAllStringSubmatch(string(report), -1)
	require.Len(t, pictures, 7, "three pictures for each procedure and one of the rise test")
	for _, m := range pictures {
		require.FileExists(t, filepath.Join(p.out, m[1]))
		require.FileExists(t, filepath.Join(p.out, strings.TrimSuffix(m[1], ".svg")+".png"))
	}
	cells := 0
	for _, line := range strings.Split(string(report), "\n") {
		switch {
		case !strings.HasPrefix(line, "|"):
			cells = 0
		case cells == 0:
			cells = strings.Count(line, "|")
		default:
			require.Equal(t, cells, strings.Count(line, "|"), line)
		}
	}
	tables, err := filepath.Glob(filepath.Join(p.out, "*.csv"))
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(tables), 3)
	for _, name := range tables {
		rows := readTable(t, name)
		require.Greater(t, len(rows), 10, name)
		for _, row := range rows {
			require.NotRegexp(t, `(?i)nan|inf$`, strings.Join(row, " "), name)
		}
	}
}

// readTable reads a table whose rows all have the same length.
func readTable(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(name)
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err, name)
	return rows
}

func TestHelp(t *testing.T) {
	p := start(t, "-h")
	require.Equal(t, exitGood, p.code)
	require.Empty(t, p.stderr)
	require.Contains(t, p.stdout, minimalJob)
	for _, line := range strings.Split(p.stdout, "\n") {
		require.LessOrEqual(t, len([]rune(line)), 120, line)
	}
}

// The example of the help is a file that others use as well.
func TestMinimalJobRuns(t *testing.T) {
	file, err := os.ReadFile("../../testdata/jobs/split.json")
	require.NoError(t, err)
	require.Equal(t, minimalJob, string(file))
	p := start(t, "-job", "../../testdata/jobs/split.json")
	require.Equal(t, exitGood, p.code, p.stderr)
	require.Contains(t, p.stdout, "nothing is said about dry enough")
	require.NotContains(t, p.stdout, "What the rise test shows", "there is no record")
	require.NotContains(t, p.stdout, "Invented")
}

func TestInterrupted(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	p := startIn(ctx, t.TempDir())
	require.Equal(t, exitInterrupted, p.code)
	require.Equal(t, 1, strings.Count(p.stderr, "\n"), p.stderr)
	require.Contains(t, p.stdout, "STOPPED EARLY (step 1")
	require.Contains(t, p.stdout, "Not decided: the work stopped early.")
	require.Contains(t, p.stdout, "What the rise test shows", "what was computed is kept")
	require.FileExists(t, filepath.Join(p.out, "report.md"))
}

// A pressure that is above the blank-off and still out of reach ends a
// procedure, not the program: the record is kept with the reason.
func TestPressureOutOfReach(t *testing.T) {
	job := strings.Replace(minimalJob, `"for": "15 min"`, `"at_most": "5 min"`, 1)
	p := start(t, "-job", write(t, "job.json", job))
	require.Equal(t, exitGood, p.code, p.stderr)
	require.Contains(t, p.stdout, `"deep pull" was not carried out to its end`)
	require.Contains(t, p.stdout, "None: no procedure could be carried out to its end.")
	require.Contains(t, p.stdout, "so nothing was varied")
	require.Contains(t, p.stdout, "1 pull", "the stage is there")
	require.NotRegexp(t, notNumbers, p.stdout)
}

func TestOwnLogWithDecimalComma(t *testing.T) {
	const log = "../../testdata/traces/011.csv" // invented: 2 L, 23.2 °C, a leak of 3.505 micron/min
	p := start(t, "-log", log, "-volume", "2 L", "-temperature", "23.2 °C", "-leak-limit", "1 micron/min")
	require.Equal(t, exitGood, p.code, p.stderr)
	require.Contains(t, p.stdout, "Verdict: LEAK.")
	require.NotContains(t, p.stdout, "Water left", "no job, no procedures")

	p = start(t, "-job", "../../testdata/jobs/split.json", "-log", "rise.csv", "-leak-limit", "1 micron/min")
	require.Equal(t, exitGood, p.code, p.stderr)
	require.Contains(t, p.stdout, "In the isolated 8.00 L (the job's circuit)", "the pump's side is shut off")
	require.Contains(t, p.stdout, "Verdict: LEAK AND MOISTURE.")

	const comma = "p;t\n0,5;0\n"
	p = start(t, "-log", write(t, "x.csv", comma), "-volume", "2 L", "-temperature", "20 °C", "-leak-limit", "1e-5 Pa·m³/s",
		"-log-pressure-unit", "mbar", "-log-time-unit", "s")
	require.Equal(t, exitGood, p.code, p.stderr)
	require.Contains(t, p.stdout, "Verdict: UNDETERMINED. No verdict: 1 usable reading")
}

// A job with a sweep, a cold node and an assumed leak, and a record to go with it.
func TestSweepJob(t *testing.T) {
	p := start(t, "-job", "../../testdata/jobs/sweep.json", "-log", "rise.csv", "-leak-limit", "1 micron/min")
	require.Equal(t, exitGood, p.code, p.stderr)
	require.NotRegexp(t, notNumbers, p.stdout)
	require.Regexp(t, `per charge of 2\.1 kg`, p.stdout)
	require.Contains(t, p.stdout, "out by vent")
	require.Contains(t, p.stdout, "The procedures above were run with the leak that the job states, 1e-05 Pa·m³/s")
	require.Contains(t, p.stdout, "Slow sweep differs: ")
}
