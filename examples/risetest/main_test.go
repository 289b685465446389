package main

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/vacuum/rise"
)

// program runs risetest.
func program(args ...string) (code int, stdout, stderr string) {
	var out, complaints bytes.Buffer
	code = run(args, &out, &complaints)
	return code, out.String(), complaints.String()
}

func write(t *testing.T, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "log.csv")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

// notNumbers finds what a finding must never print.
var notNumbers = regexp.MustCompile(`NaN|[+-]?Inf\b|%!|<nil>|\.\.\n|e\+\d\d`)

// circuit is what goes with the records of these tests.
func circuit(more ...string) []string {
	return append([]string{"-volume", "8 L", "-temperature", "24 °C", "-leak-limit", "1 micron/min"}, more...)
}

// row are the numbers of a row of a table.
func row(t *testing.T, text, name string) []float64 {
	t.Helper()
	for _, line := range strings.Split(text, "\n") {
		cells := regexp.MustCompile(` {2,}`).Split(strings.TrimSpace(line), -1)
		if cells[0] != name {
			continue
		}
		var out []float64
		for _, c := range cells[1:] {
			x, err := strconv.ParseFloat(c, 64)
			require.NoError(t, err)
			out = append(out, x)
		}
		return out
	}
	t.Fatalf("no row %q in:\n%s", name, text)
	return nil
}

func TestInventedRecord(t *testing.T) {
	dir := t.TempDir()
	code, out, complaints := program("-out", dir)
	require.Equal(t, exitGood, code, complaints)
	require.NotRegexp(t, notNumbers, out)
	at := 0
	for _, part := range []string{"Invented", "Verdict: LEAK AND MOISTURE.", "Evidence", "Leak\n", "What would settle it", "How long it should have run", "Cautions", "Files in"} {
		i := strings.Index(out[at:], part)
		require.GreaterOrEqual(t, i, 0, "%q is missing or out of order in:\n%s", part, out)
		at += i
	}
	// The record was made with 1.5 micron/min in 6.4 L.
	minute := row(t, out, "micron/min in this volume")
	require.LessOrEqual(t, minute[1], 1.5)
	require.GreaterOrEqual(t, minute[2], 1.49)
	pascal := row(t, out, "Pa·m³/s")
	for i := range pascal { // Q = V dp/dt; 1 micron = 101325/760000 Pa
		require.InEpsilon(t, minute[i]*101325/760000/60*6.4e-3, pascal[i], 0.01)
	}
	lusec := row(t, out, "micron·L/s")
	require.InEpsilon(t, minute[0]/60*6.4, lusec[0], 0.01)
	// p V = n R T of R-410A (72.585 g/mol) at 296.15 K, 31557600 s a year, through
	// a molecular leak: q ∝ (p1 - p2)/√M, with 28.9647 g/mol for air.
	service := 1.6e6 + 101325.0
	want := pascal[0] * (service - 101325) / 101325 * math.Sqrt(28.9647/72.585) * 72.585 / (8.31446 * 296.15) * 31557600
	require.InEpsilon(t, want, row(t, out, "g/year of R-410A, molecular")[0], 0.01)
	for _, name := range []string{"record", "residuals", "decision"} {
		for _, ending := range []string{".svg", ".png", ".csv", ".txt"} {
			require.FileExists(t, filepath.Join(dir, name+ending))
			require.Contains(t, out, name+".svg/.png/.csv/.txt")
		}
	}
}

// Records with known truth; invented, and not made by what is tested.
func TestRecords(t *testing.T) {
	for name, says := range map[string][]string{
		"005": {"Verdict: MOISTURE", "While there is free water"},
		"006": {"Verdict: MOISTURE", "triple point", "Up to the end of the pause the reading rose by", "their misfit"},
		"008": {"Verdict: EQUALISING", "second gauge"},
		"009": {"Verdict: UNDETERMINED", "stuck", "Another gauge"},
		"011": {"Verdict: LEAK."},
		"014": {"Verdict: UNDETERMINED", "Longer than it did"},
	} {
		code, out, complaints := program(circuit("-out", t.TempDir(), "../../testdata/traces/"+name+".csv")...)
		require.Equal(t, exitGood, code, complaints)
		require.NotRegexp(t, notNumbers, out, name)
		require.NotContains(t, out, "Invented")
		for _, s := range says {
			require.Contains(t, strings.Join(strings.Fields(out), " "), s, name)
		}
	}
}

// A pump of constant speed towards a floor, p = f + A exp(-t/τ): the speed is V/τ.
func TestPullDown(t *testing.T) {
	var b strings.Builder
	b.WriteString("time [s];p [Pa]\n")
	for i := range 200 {
		fmt.Fprintf(&b, "%d;%.4f\n", 5*i, 120+100e3*math.Exp(-float64(5*i)/60))
	}
	dir := t.TempDir()
	code, out, complaints := program("-volume", "8 L", "-temperature", "24 °C", "-out", dir, write(t, b.String()))
	require.Equal(t, exitGood, code, complaints)
	require.NotRegexp(t, notNumbers, out)
	require.Contains(t, out, "Pull-down: ")
	require.Regexp(t, `kPa\) +(8\.0\d|7\.9\d) `, out, "8 L in 60 s")
	require.Contains(t, out, "It will not get there")
	require.FileExists(t, filepath.Join(dir, "pulldown.png"))

	code, out, _ = program("-volume", "8 L", "-temperature", "24 °C", "-target", "2000 micron", write(t, b.String()))
	require.Equal(t, exitGood, code)
	require.Contains(t, out, "None: the record reaches it.")
}

// What is not known of the time left is not printed as a negative time.
func TestTimeLeft(t *testing.T) {
	span := func(low, best, high time.Duration) string {
		return timeLeft(&rise.PullFinding{TimeLeft: rise.Span{Low: low, Best: best, High: high}})
	}
	require.Equal(t, "It may never get there.", span(-1, -1, -1))
	require.Equal(t, "It may never get there; at least 48 s.", span(48*time.Second, -1, -1))
	require.Equal(t, "About 60 s, at least 48 s; no upper bound is known.", span(48*time.Second, time.Minute, -1))
	require.Equal(t, "About 60 s (48 s to 90 s).", span(48*time.Second, time.Minute, 90*time.Second))
}

func TestFewReadings(t *testing.T) {
	code, out, complaints := program(circuit("-out", t.TempDir(), write(t, "time [s];p [micron]\n0;100\n10;101\n"))...)
	require.Equal(t, exitGood, code, complaints)
	require.Contains(t, out, "Verdict: UNDETERMINED. No verdict: 2 usable readings")
	require.Contains(t, out, "At least 12 usable readings")
	require.Contains(t, out, "None: a record that cannot be judged has no pictures.")
}

// A verdict that rests on the first reading says to take it again.
func TestFirstReadingDecides(t *testing.T) {
	path := fading(t, func(t float64) float64 {
		if t == 0 {
			return 3
		}
		return 20 + 0.02*t
	})
	_, out, _ := program(circuit(path)...)
	require.Contains(t, phrase.OneLine(out), "This rests on the first reading")
	require.Contains(t, phrase.OneLine(out), "several readings in the first seconds")
}

// A loss per year becomes the smaller of the two leaks that make it.
func TestLimitAsLoss(t *testing.T) {
	code, out, complaints := program("-leak-limit", "5000 g/year")
	require.Equal(t, exitGood, code, complaints)
	require.InEpsilon(t, 5000, row(t, out, "g/year of R-410A, laminar")[3], 0.001)
	require.Contains(t, strings.Join(strings.Fields(out), " "), "the smaller of the two leaks that lose 5000 g/year")
}

func TestBadInput(t *testing.T) {
	const log = "../../testdata/traces/011.csv"
	for _, c := range []struct {
		code int
		says string
		args []string
	}{
		{2, "-frob", []string{"-frob"}},
		{2, "one log too many", []string{"a.csv", "b.csv"}},
		{2, "-volume = 0", circuit("-volume", "0 L", log)},
		{2, "-resolution", circuit("-resolution", "0 Pa", log)},
		{2, "-target", circuit("-target", "0 Pa", log)},
		{2, "go together", circuit("-refrigerant", "R-32", log)},
		{2, "-log needs", []string{"-log", ""}},
		{2, "go together", circuit("-settles-in", "4 min", log)},
		{2, "-settles-by", circuit("-settles-in", "4 min", "-settles-by", "-0 Pa", log)},
		{2, "-settles-by", circuit("-settles-in", "4 min", "-settles-by", "--5 Pa", log)},
		{2, "-settles-in", circuit("-settles-in", "0 s", "-settles-by", "5 Pa", log)},
		{1, "-volume", []string{log}},
		{1, "-temperature", []string{"-volume", "8 L", log}},
		{1, "-leak-limit", []string{"-volume", "8 L", "-temperature", "20 °C", log}},
		{1, "-refrigerant, ", []string{"-volume", "8 L", "-temperature", "20 °C", "-leak-limit", "5 g/year", log}},
		{1, "no gas", circuit("-refrigerant", "R-999", "-service-pressure", "10 bar gauge", log)},
		{1, "-service-pressure", circuit("-refrigerant", "R-32", "-service-pressure", "500 micron", log)},
		{1, "no-such.csv", circuit("no-such.csv")},
		{1, "-ambient", circuit(write(t, "time [s];p [inHg vac]\n0;29.9\n"))},
		{1, "-out", circuit("-out", "main.go", log)},
	} {
		code, _, complaints := program(c.args...)
		require.Equal(t, c.code, code, "%v: %s", c.args, complaints)
		require.Contains(t, complaints, c.says)
		require.Equal(t, 1, strings.Count(complaints, "\n"), complaints)
		require.NotContains(t, complaints, "Options")
	}
}

func TestHelpNamesEveryFlag(t *testing.T) {
	code, out, _ := program("-h")
	require.Equal(t, exitGood, code)
	for _, name := range []string{"log", "volume", "temperature", "leak-limit", "resolution", "refrigerant", "service-pressure", "ambient", "altitude", "log-pressure-unit", "log-time-unit", "target", "blank-off", "settles-in", "settles-by", "out"} {
		require.Contains(t, out, "-"+name+" ")
	}
	for _, line := range strings.Split(out, "\n") {
		require.LessOrEqual(t, len([]rune(line)), 120, line)
	}
}

// Nonsense in a log never panics.
func FuzzLog(f *testing.F) {
	f.Add("time [s];p [micron]\n0;100\n10;101,5\n")
	f.Add(string(record[:400]))
	f.Fuzz(func(t *testing.T, log string) {
		if len(log) > 1<<12 {
			return
		}
		code, _, complaints := program(circuit(write(t, log))...)
		require.Equal(t, code != exitGood, complaints != "")
	})
}

// A rise that fades is moisture, or two sides that settle when the circuit says
// so; the pictures name every law with its weight.
func TestSettling(t *testing.T) {
	var b strings.Builder
	b.WriteString("time [s];p [Pa]\n")
	for i := range 300 {
		fmt.Fprintf(&b, "%d;%.2f\n", 5*i, 40-20*math.Expm1(-float64(5*i)/200)+0.05*math.Sin(float64(i*i)))
	}
	path := write(t, b.String())
	_, out, _ := program(circuit(path)...)
	require.Contains(t, out, "Verdict: MOISTURE.")
	dir := t.TempDir()
	code, out, complaints := program(circuit("-settles-in", "3 min", "-settles-by", "15 Pa", "-out", dir, path)...)
	require.Equal(t, exitGood, code, complaints)
	require.Contains(t, out, "Verdict: EQUALISING.")
	require.Contains(t, out, "Settling as the circuit foresees it")
	require.NotContains(t, out, "if all of it is water vapour")
	words, err := os.ReadFile(filepath.Join(dir, "record.txt"))
	require.NoError(t, err)
	weights := regexp.MustCompile(`with their weights: (.+?)\. `).FindStringSubmatch(phrase.OneLine(out))
	require.Len(t, weights, 2, "the evidence names the weights")
	require.Contains(t, string(words), "("+phrase.Listed(strings.Split(weights[1], ", "))+")", "and the picture the same")
	require.Regexp(t, `as the circuit predicts \d+ %`, string(words))
	words, err = os.ReadFile(filepath.Join(dir, "record.csv"))
	require.NoError(t, err)
	require.Contains(t, string(words), "as the circuit predicts ")
}

// fading is a rise by what law says, Pa after seconds, read every 10 s for 20 min.
func fading(t *testing.T, law func(t float64) float64) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("time [s];p [Pa]\n")
	for i := range 120 {
		fmt.Fprintf(&b, "%d;%.1f\n", 10*i, law(float64(10*i))+0.4*math.Sin(float64(i*i)))
	}
	return write(t, b.String())
}

// The time by design knows one source at most: it is not said where the record is
// open, and where the fit has what it lacks it is one for a dry, settled circuit.
func TestDesignDoesNotContradict(t *testing.T) {
	open := fading(t, func(t float64) float64 { return 20 - 60*math.Expm1(-t/2500) })
	_, out, _ := program(circuit(open)...)
	require.Contains(t, out, "Verdict: UNDETERMINED.")
	require.NotContains(t, out, "By design")
	require.Contains(t, out, "it has not decided")

	falls := fading(t, func(t float64) float64 { return 60 + 10*math.Expm1(-t/240) })
	_, out, _ = program(circuit(falls)...)
	require.Contains(t, out, "Verdict: EQUALISING.")
	require.Contains(t, phrase.OneLine(out), "with this gauge in a dry, settled circuit sees")

	_, out, _ = program(circuit("-settles-in", "4 min", "-settles-by", "80 micron", falls)...)
	require.Contains(t, phrase.OneLine(out), "does not show the settling that is foreseen")
	_, out, _ = program(circuit("-settles-in", "4 min", "-settles-by", "-80 micron", falls)...)
	require.Contains(t, phrase.OneLine(out), "Verdict: EQUALISING. Two sides of the circuit settle as the model of the circuit foresees")
}
