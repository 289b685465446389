//go:build cvode

package vacuum_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os/exec"
	"slices"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"example.com/drydown/vacuum"
)

// cvodeRun is what one solver made of one pull-down.
type cvodeRun struct {
	event, seconds float64
	steps          int
	// late and off are the error of the event's time, relative, and the worst of
	// all sampled pressures, relative to the pressure and 50 Pa more.
	late, off float64
}

func (c *cvodeCase) inC(tb testing.TB, program, file string, tolerance float64, repeats int) cvodeRun {
	var wrong bytes.Buffer
	run := exec.Command(program, "run", file, fmt.Sprint(tolerance), c.solver, fmt.Sprint(repeats))
	run.Stderr = &wrong
	said, err := run.Output()
	require.NoError(tb, err, "%s", &wrong)
	var r cvodeRun
	_, err = fmt.Sscan(string(said), &r.event, &r.seconds, &r.steps)
	require.NoError(tb, err)
	if r.broken() {
		r.late, r.off = math.Inf(1), math.Inf(1)
	}
	return r
}

// broken is true of a run of CVODE that took too many steps.
func (r *cvodeRun) broken() bool { return r.event < 0 }

func (c *cvodeCase) inGo(tb testing.TB, tolerance float64, repeats int) cvodeRun {
	best := cvodeRun{seconds: math.Inf(1)}
	for range repeats {
		start, used := time.Now(), processorTime(tb)
		sim := simulate(tb, c.circuit, c.options(tolerance))
		until(tb, sim, 2400*time.Hour, vacuum.PressureBelow(c.far, cvodeTarget))
		s := math.Min(time.Since(start).Seconds(), processorTime(tb)-used)
		if s < best.seconds {
			best = cvodeRun{event: sim.Seconds(), seconds: s, steps: sim.Record().Stats.Accepted}
		}
	}
	return best
}

// processorTime is what all threads have used so far, in seconds, the garbage
// collector's among them. On a machine that others use too the clock tells more
// than a run takes; on an idle one this does, as the collector works beside it. The
// smaller of the two is never less than the clock of an idle machine.
func processorTime(tb testing.TB) float64 {
	var u syscall.Rusage
	require.NoError(tb, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e9
}

// samplesInC are the pressures of all nodes at the given times.
func (c *cvodeCase) samplesInC(tb testing.TB, program, file string, tolerance float64, times []float64) []float64 {
	var input, said, wrong bytes.Buffer
	fmt.Fprintln(&input, len(times))
	for _, t := range times {
		fmt.Fprintf(&input, "%x\n", t)
	}
	run := exec.Command(program, "sample", file, fmt.Sprint(tolerance), c.solver, "1")
	run.Stdin, run.Stdout, run.Stderr = &input, &said, &wrong
	require.NoError(tb, run.Run(), "%s", &wrong)
	p := make([]float64, len(times)*len(c.circuit.Nodes))
	require.NoError(tb, binary.Read(&said, binary.NativeEndian, p))
	return p
}

// cvodeTruth is what both solvers are measured against: the package's own run
// at the case's reference tolerance, with a step to each time of a sample. Times
// are 40 in geometric and 60 in even steps up to shortly before the event.
type cvodeTruth struct {
	event            float64
	times, pressures []float64
}

func (c *cvodeCase) truth(tb testing.TB) cvodeTruth {
	r := cvodeTruth{event: c.inGo(tb, c.reference, 1).event}
	for i := range 40 {
		r.times = append(r.times, 0.999*r.event*math.Pow(1e-5, 1-float64(i)/40))
	}
	for i := range 60 {
		r.times = append(r.times, 0.999*r.event*float64(i+1)/60)
	}
	slices.Sort(r.times)
	var err error
	r.pressures, err = simulate(tb, c.circuit, c.options(c.reference)).CVodeSamples(r.times, true)
	require.NoError(tb, err)
	return r
}

// judge fills in the errors of a run with the given samples.
func (r *cvodeTruth) judge(run *cvodeRun, samples []float64) {
	run.late = math.Abs(run.event/r.event - 1)
	run.off = 0
	for i, p := range samples {
		run.off = math.Max(run.off, math.Abs(p-r.pressures[i])/(r.pressures[i]+50))
	}
}

// measure takes both solvers in turns, about 0.1 s of each at a time, and the
// best of five turns of each; then, beside the clock, the errors.
func (c *cvodeCase) measure(b *testing.B, program string, tolerance float64, truth *cvodeTruth) (inGo, inC cvodeRun) {
	inC = c.alone(b, program, tolerance, truth)
	_, file := c.file(b, tolerance)
	inGo = c.inGo(b, tolerance, 1)
	for range 4 {
		if !inC.broken() {
			inC.seconds = math.Min(inC.seconds, c.inC(b, program, file, tolerance, repeats(inC)).seconds)
		}
		inGo.seconds = math.Min(inGo.seconds, c.inGo(b, tolerance, repeats(inGo)).seconds)
	}
	c.judgeGo(b, tolerance, truth, &inGo)
	return inGo, inC
}

// judgeGo fills in the errors of a run of the package.
func (c *cvodeCase) judgeGo(b *testing.B, tolerance float64, truth *cvodeTruth, run *cvodeRun) {
	samples, err := simulate(b, c.circuit, c.options(tolerance)).CVodeSamples(truth.times, false)
	require.NoError(b, err)
	truth.judge(run, samples)
}

// alone is a run of CVODE and its errors.
func (c *cvodeCase) alone(b *testing.B, program string, tolerance float64, truth *cvodeTruth) cvodeRun {
	_, file := c.file(b, tolerance)
	run := c.inC(b, program, file, tolerance, 1)
	if run.broken() {
		return run
	}
	if more := repeats(run); more > 1 {
		run.seconds = c.inC(b, program, file, tolerance, more).seconds
	}
	truth.judge(&run, c.samplesInC(b, program, file, tolerance, truth.times))
	return run
}

func repeats(r cvodeRun) int { return 1 + int(0.1/r.seconds) }

// BenchmarkCVode prints the work-precision curve of the package against that of
// CVODE: the error of the time of 500 micron at the far end and of the sampled
// pressures, and the time that each takes from a circuit to the event. The last
// columns are the time in Go over that in C: at the same tolerance, at equal error
// of the event with what CVODE has right by chance and (event*) without, and at equal
// error of the pressures. A ratio above 1 is slower. After the networks come the exponents of cost against size.
func BenchmarkCVode(b *testing.B) {
	program := buildCVode(b)
	cases := cvodeCases(b)
	for _, c := range cases[:5] {
		c.compare(b, program)
	}
	var cost scaling
	for _, c := range cases {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				inGo, inC := c.curve(b, program)
				if c.solver == "klu" {
					cost.add(len(c.circuit.Nodes), inGo, inC)
				}
			}
			if len(c.circuit.Nodes) == 1000 {
				c.memory(b)
			}
		})
	}
	cost.print()
}

// cvodeCurve is the work and the precision of both solvers on one circuit.
type cvodeCurve struct {
	truth cvodeTruth
	// inGo are the package's runs at the case's tolerances and, for its errors
	// only, one beyond them; inC those of CVODE, which go further.
	inGo, inC []cvodeRun
	tightest  float64 // tolerance of the last run of CVODE
}

// curve measures and prints one circuit; it answers with the runs at 1e-6.
func (c *cvodeCase) curve(b *testing.B, program string) (inGo, inC cvodeRun) {
	k := cvodeCurve{truth: c.truth(b)}
	for _, tolerance := range c.tolerances {
		g, cv := c.measure(b, program, tolerance, &k.truth)
		k.inGo, k.inC = append(k.inGo, g), append(k.inC, cv)
		k.tightest = tolerance
	}
	beyond := c.inGo(b, k.tightest/10, 1)
	c.judgeGo(b, k.tightest/10, &k.truth, &beyond)
	k.inGo = append(k.inGo, beyond)
	for k.tightest > 0.011*c.reference { // so that every error in Go has its match
		run := c.alone(b, program, k.tightest/10, &k.truth)
		if run.broken() {
			break
		}
		k.inC = append(k.inC, run)
		k.tightest /= 10
	}
	k.print(b, c)
	at := slices.Index(c.tolerances, 1e-6)
	return k.inGo[at], k.inC[at]
}

func (k *cvodeCurve) print(b *testing.B, c *cvodeCase) {
	last := k.inC[len(k.inC)-1]
	fmt.Printf("\n%s: 500 micron at %.9g s; CVODE at %.0e differs by %.1e in that, by %.1e in pressures\n",
		c.name, k.truth.event, k.tightest, last.late, last.off)
	fmt.Printf("%9s | %9s %6s %8s %8s | %9s %6s %8s %8s | %9s %8s %8s %8s\n", "tolerance", "Go ms", "steps", "event", "pressure",
		"C ms", "steps", "event", "pressure", "same tol.", "event", "event*", "pressure")
	worst := [3]float64{}
	for i, tolerance := range c.tolerances {
		g, cv, equal := k.inGo[i], k.inC[i], k.equal(i)
		fmt.Printf("%9.0e | %s | %s | %9.2f %8.2f %8.2f %8.2f\n", tolerance, &g, &cv, g.seconds/cv.seconds, equal[0], equal[1], equal[2])
		for j, name := range []string{"event", "event*", "pressure"} {
			worst[j] = math.Max(worst[j], equal[j])
			if tolerance == 1e-6 {
				b.ReportMetric(equal[j], "Go/C@"+name)
			}
		}
	}
	for i := len(c.tolerances); i < len(k.inC); i++ {
		fmt.Printf("%9.0e | %34s | %s |\n", k.tightest*math.Pow(10, float64(len(k.inC)-1-i)), "", &k.inC[i])
	}
	b.ReportMetric(worst[0], "worst@event")
	b.ReportMetric(worst[1], "worst@event*")
	b.ReportMetric(worst[2], "worst@pressure")
}

// String is the run as a piece of the table.
func (r *cvodeRun) String() string {
	return fmt.Sprintf("%9.3f %6d %8.1e %8.1e", 1e3*r.seconds, r.steps, r.late, r.off)
}

// equal is the time of run i of the package over that of CVODE at equal error of
// the event, the same without what CVODE has right by chance, and at equal error
// of the pressures. The truth is no better known than to what CVODE makes of it
// at its tightest.
func (k *cvodeCurve) equal(i int) [3]float64 {
	last := k.inC[len(k.inC)-1]
	late := func(r cvodeRun) float64 { return math.Max(r.late, last.late) }
	off := func(r cvodeRun) float64 { return math.Max(r.off, last.off) }
	g := steady(k.inGo)[i]
	return [3]float64{
		g.seconds / timeAt(late(g), late, k.inC),
		g.seconds / timeAt(late(g), late, steady(k.inC)),
		g.seconds / timeAt(off(g), off, k.inC),
	}
}

// steady gives every run the largest error of it and of all at tighter
// tolerances: one that is right by chance, the error changing its sign there, is no
// better than those that take more steps.
func steady(runs []cvodeRun) []cvodeRun {
	out := slices.Clone(runs)
	var late, off float64
	for i := len(out) - 1; i >= 0; i-- {
		if r := &out[i]; !r.broken() {
			late, off = math.Max(late, r.late), math.Max(off, r.off)
			r.late, r.off = late, off
		}
	}
	return out
}

// timeAt is the least time at which a curve reaches an error: of the points that
// are as good, whatever their tolerance, and of the straight lines between
// neighbours in logarithms; that of the tightest point where none is as good.
func timeAt(level float64, errorOf func(cvodeRun) float64, curve []cvodeRun) float64 {
	least := math.Inf(1)
	for i, r := range curve {
		if errorOf(r) <= level {
			least = math.Min(least, r.seconds)
		}
		if i == 0 || r.broken() || curve[i-1].broken() {
			continue
		}
		e0, e1 := math.Log(errorOf(curve[i-1])), math.Log(errorOf(r))
		if at := math.Log(level); (at-e0)*(at-e1) < 0 {
			share := (at - e0) / (e1 - e0)
			least = math.Min(least, math.Exp(math.Log(curve[i-1].seconds)*(1-share)+math.Log(r.seconds)*share))
		}
	}
	if math.IsInf(least, 1) {
		return curve[len(curve)-1].seconds
	}
	return least
}

// scaling collects the cost of networks at 1e-6 against their size.
type scaling struct{ size, inGo, inC []float64 } // logarithms

func (s *scaling) add(nodes int, inGo, inC cvodeRun) {
	s.size = append(s.size, math.Log(float64(nodes)))
	s.inGo = append(s.inGo, math.Log(inGo.seconds))
	s.inC = append(s.inC, math.Log(inC.seconds))
}

// print writes the slopes of straight lines through the logarithms.
func (s *scaling) print() {
	if len(s.size) < 2 {
		return
	}
	_, slopeGo := stat.LinearRegression(s.size, s.inGo, nil, false)
	_, slopeC := stat.LinearRegression(s.size, s.inC, nil, false)
	fmt.Printf("\ncost exponent at 1e-6 over %d sizes: Go %.2f, C %.2f\n", len(s.size), slopeGo, slopeC)
}

// memory prints what a whole run allocates, with and without samples; the heap
// never holds more than that.
func (c *cvodeCase) memory(b *testing.B) {
	for _, opt := range []*vacuum.Options{nil, c.options(1e-6)} {
		var samples int
		bytes := allocated(func() {
			sim := simulate(b, c.circuit, opt)
			until(b, sim, 2400*time.Hour, vacuum.PressureBelow(c.far, cvodeTarget))
			samples = len(sim.Record().Samples)
		})
		fmt.Printf("%s nodes: %.1f MB allocated in a run that keeps %d samples\n", c.name, float64(bytes)/1e6, samples)
		if opt == nil {
			b.ReportMetric(float64(bytes)/1e6, "MB")
		}
	}
}
