//go:build cvode

package vacuum_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// cvodeTarget ends every pull-down.
const cvodeTarget = 500 * units.Micron

// cvodeCase is a circuit that the C program knows.
type cvodeCase struct {
	name, solver string
	circuit      vacuum.Circuit
	far          string
	reference    float64   // tolerance of the reference
	tolerances   []float64 // from loose to tight
}

func cvodeCases(tb testing.TB) []cvodeCase {
	hoses := wetTwoHoses(tb)
	hoses.Nodes[1].Stores = nil
	for i := range hoses.Nodes {
		hoses.Nodes[i].Fill = vacuum.Fill{Pressure: units.Atmosphere}
	}
	tolerances := []float64{1e-3, 1e-4, 1e-5, 1e-6, 1e-7, 1e-8}
	cases := []cvodeCase{{"hoses", "dense", hoses, "low side", 1e-10, tolerances}}
	for _, n := range []int{50, 200, 1000, 10000} {
		c := cvodeCase{name: fmt.Sprint(n), solver: "klu", reference: 1e-10, tolerances: tolerances}
		if n > 1000 {
			c.reference, c.tolerances = 1e-8, tolerances[1:4]
		}
		c.circuit, c.far = network(n)
		cases = append(cases, c)
	}
	return cases
}

// buildCVode compiles the C program into a directory of its own. A missing
// compiler or library is a failure: the tag asked for it.
func buildCVode(tb testing.TB) string {
	program := filepath.Join(tb.TempDir(), "pulldown")
	cc := exec.Command("cc", "-std=gnu11", "-O3", "-fno-math-errno", "-ffp-contract=off", "-Wall", "-Wextra",
		"-I/usr/include/suitesparse", "-o", program, "../testdata/cvode/pulldown.c",
		"-lsundials_cvode", "-lsundials_nvecserial", "-lsundials_sunmatrixsparse", "-lsundials_sunmatrixdense",
		"-lsundials_sunlinsolklu", "-lsundials_sunlinsoldense", "-lklu", "-lm")
	said, err := cc.CombinedOutput()
	require.NoError(tb, err, "%s\ninstall a C compiler, libsundials-dev and libsuitesparse-dev", said)
	return program
}

func (c *cvodeCase) options(tolerance float64) *vacuum.Options {
	return &vacuum.Options{RelTol: tolerance, MaxSamples: 16, SampleChange: 1e5, SampleEvery: 2400 * time.Hour}
}

// file writes the input of the C program for a tolerance.
func (c *cvodeCase) file(tb testing.TB, tolerance float64) (*vacuum.CVodeTwin, string) {
	twin, err := vacuum.NewCVodeTwin(simulate(tb, c.circuit, c.options(tolerance)), c.far, float64(cvodeTarget))
	require.NoError(tb, err)
	name := filepath.Join(tb.TempDir(), "input")
	require.NoError(tb, os.WriteFile(name, []byte(twin.Input), 0o600))
	return twin, name
}

// The right-hand sides in Go and in C agree to 1e-12 and their Jacobians, by
// their product with the state, to 1e-9 of its largest entry, at 1,000 random
// states: pressures from 0.01 Pa to 90 kPa, each by itself or all close together.
func TestCVodeRates(t *testing.T) {
	program := buildCVode(t)
	for _, c := range cvodeCases(t)[:2] {
		t.Run(c.name, func(t *testing.T) { c.compare(t, program) })
	}
}

func (c *cvodeCase) compare(tb testing.TB, program string) {
	const states = 1000
	twin, file := c.file(tb, 1e-6)
	random := rand.New(rand.NewPCG(1, 2))
	var input strings.Builder
	fmt.Fprintln(&input, states)
	all := make([][]float64, states)
	for i := range all {
		common, spread := 16*random.Float64()-4.6, math.Exp(-12*random.Float64())
		for k := range twin.Volumes {
			p := math.Exp(16*random.Float64() - 4.6)
			if i%2 == 1 {
				p = math.Exp(common + spread*random.Float64())
			}
			all[i] = append(all[i], p/twin.PerMole[k])
			fmt.Fprintf(&input, "%x\n", all[i][k])
		}
	}
	run := exec.Command(program, "compare", file)
	run.Stdin = strings.NewReader(input.String())
	said, err := run.Output()
	require.NoError(tb, err)
	reader := strings.NewReader(string(said))
	rates, product := make([]float64, twin.Volumes), make([]float64, twin.Volumes)
	for _, y := range all {
		twin.Rates(y, rates, product)
		largest := 0.0
		for _, v := range product {
			largest = math.Max(largest, math.Abs(v))
		}
		for k := range y {
			var rate, by float64
			_, err := fmt.Fscanf(reader, "%v %v\n", &rate, &by)
			require.NoError(tb, err)
			require.InDelta(tb, rates[k], rate, 1e-12*math.Abs(rates[k]), "rate %d of %v", k, y)
			require.InDelta(tb, product[k], by, 1e-9*largest, "Jacobian row %d of %v", k, y)
		}
	}
}

// cvodeRun is what one solver made of one pull-down.
type cvodeRun struct {
	event, seconds float64
	steps          int
}

func (c *cvodeCase) inC(tb testing.TB, program, file string, tolerance float64, repeats int) cvodeRun {
	said, err := exec.Command(program, "run", file, fmt.Sprint(tolerance), c.solver, fmt.Sprint(repeats)).CombinedOutput()
	require.NoError(tb, err, "%s", said)
	var r cvodeRun
	_, err = fmt.Sscan(string(said), &r.event, &r.seconds, &r.steps)
	require.NoError(tb, err)
	return r
}

func (c *cvodeCase) inGo(tb testing.TB, tolerance float64, repeats int) cvodeRun {
	best := cvodeRun{seconds: math.Inf(1)}
	for range repeats {
		start := time.Now()
		sim := simulate(tb, c.circuit, c.options(tolerance))
		until(tb, sim, 2400*time.Hour, vacuum.PressureBelow(c.far, cvodeTarget))
		if s := time.Since(start).Seconds(); s < best.seconds {
			best = cvodeRun{sim.Seconds(), s, sim.Record().Stats.Accepted}
		}
	}
	return best
}

// BenchmarkCVode prints the work-precision curve of the package against that of
// CVODE: the error of the time of 500 micron at the far end against a tight
// reference, and the time that each takes from a circuit to the event, best of
// several, taken in turns. The last column is the time in Go over that in C at
// equal error, C read off its own curve. A ratio above 1 is slower.
func BenchmarkCVode(b *testing.B) {
	program := buildCVode(b)
	for _, c := range cvodeCases(b) {
		if c.name == "hoses" || c.name == "50" {
			c.compare(b, program)
		}
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				c.curve(b, program)
			}
		})
	}
}

// curve measures and prints one circuit.
func (c *cvodeCase) curve(b *testing.B, program string) {
	reference := c.inGo(b, c.reference, 1).event
	_, file := c.file(b, c.reference)
	other := c.inC(b, program, file, c.reference, 1).event
	fmt.Printf("\n%s: 500 micron at %.9g s, the other solver %.1e off\n", c.name, reference, math.Abs(other/reference-1))
	fmt.Printf("%9s %10s %10s %7s %10s %10s %7s %9s %9s\n", "tolerance", "Go error", "Go ms", "steps", "C error", "C ms", "steps", "same tol.", "same err.")
	inGo, inC := make([]cvodeRun, len(c.tolerances)), make([]cvodeRun, len(c.tolerances))
	for i, tolerance := range c.tolerances {
		inGo[i], inC[i] = c.measure(b, program, tolerance)
	}
	for _, tighter := range []float64{0.1, 0.01} { // so that every error in Go has its match
		tolerance := tighter * c.tolerances[len(c.tolerances)-1]
		_, file := c.file(b, tolerance)
		inC = append(inC, c.inC(b, program, file, tolerance, 3))
	}
	worst := 0.0
	for i, tolerance := range c.tolerances {
		g, cv := inGo[i], inC[i]
		level := math.Abs(g.event/reference - 1)
		equal := g.seconds / timeAt(level, reference, inC)
		worst = math.Max(worst, equal)
		fmt.Printf("%9.0e %10.1e %10.3f %7d %10.1e %10.3f %7d %9.2f %9.2f\n", tolerance, level, 1e3*g.seconds, g.steps,
			math.Abs(cv.event/reference-1), 1e3*cv.seconds, cv.steps, g.seconds/cv.seconds, equal)
		if tolerance == 1e-6 {
			b.ReportMetric(g.seconds/cv.seconds, "Go/C@1e-6")
			b.ReportMetric(equal, "Go/C@error")
		}
	}
	b.ReportMetric(worst, "worst-Go/C@error")
}

// measure takes both solvers in turns, about 0.1 s of each at a time.
func (c *cvodeCase) measure(b *testing.B, program string, tolerance float64) (inGo, inC cvodeRun) {
	_, file := c.file(b, tolerance)
	inC = c.inC(b, program, file, tolerance, 1)
	inGo = c.inGo(b, tolerance, 1)
	for range 3 {
		if r := c.inC(b, program, file, tolerance, repeats(inC)); r.seconds < inC.seconds {
			inC = r
		}
		if r := c.inGo(b, tolerance, repeats(inGo)); r.seconds < inGo.seconds {
			inGo = r
		}
	}
	return inGo, inC
}

func repeats(r cvodeRun) int { return 1 + int(0.1/r.seconds) }

// timeAt is the time at which a curve reaches an error: the least time of the
// points that are as good, or of the straight lines between neighbours in
// logarithms; beyond its ends, that of the end.
func timeAt(level, reference float64, curve []cvodeRun) float64 {
	errorOf := func(r cvodeRun) float64 { return math.Max(math.Abs(r.event/reference-1), 1e-13) }
	least := math.Inf(1)
	for i, r := range curve {
		if errorOf(r) <= level {
			least = math.Min(least, r.seconds)
		}
		if i == 0 {
			continue
		}
		e0, e1 := math.Log(errorOf(curve[i-1])), math.Log(errorOf(r))
		if at := math.Log(math.Max(level, 1e-13)); (at-e0)*(at-e1) < 0 {
			share := (at - e0) / (e1 - e0)
			least = math.Min(least, math.Exp(math.Log(curve[i-1].seconds)*(1-share)+math.Log(r.seconds)*share))
		}
	}
	if math.IsInf(least, 1) {
		return curve[len(curve)-1].seconds
	}
	return least
}
