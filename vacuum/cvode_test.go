//go:build cvode

package vacuum_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"example.com/drydown/moisture"
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

// cvodeCases are two hoses dry, with humid air, with 5 g of water that stays
// liquid until little is left, and with half a gram that freezes because hardly
// any heat reaches it; and dry networks.
func cvodeCases(tb testing.TB) []cvodeCase {
	tolerances := []float64{1e-3, 1e-4, 1e-5, 1e-6, 1e-7, 1e-8}
	var cases []cvodeCase
	for _, name := range []string{"dry", "humid", "wet", "ice"} {
		c := cvodeCase{"hoses " + name, "dense", wetTwoHoses(tb), "low side", 1e-10, tolerances}
		switch nodes := c.circuit.Nodes; name {
		case "dry":
			nodes[1].Stores = nil
			for i := range nodes {
				nodes[i].Fill = vacuum.Fill{Pressure: units.Atmosphere}
			}
		case "humid":
			nodes[1].Stores = nil
		case "ice":
			nodes[1].Stores[0].Store = moisture.Puddle{
				Mass: 0.5 * units.Gram, Area: 40 * units.SquareCentimetre, HeatSupply: 0.05, Film: 5 * units.Millimetre,
			}
		}
		cases = append(cases, c)
	}
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
	const source = "../testdata/cvode/"
	program := filepath.Join(tb.TempDir(), "pulldown")
	cc := exec.Command("cc", "-std=gnu11", "-O3", "-flto", "-fno-math-errno", "-ffp-contract=off", "-Wall", "-Wextra",
		"-I/usr/include/suitesparse", "-o", program, source+"pulldown.c", source+"flow.c", source+"water.c",
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

// The right-hand sides in Go and in C agree to 1e-12 of the largest term of each
// rate, and the Jacobians of dry circuits, by their product with the state, to
// 1e-9 of its largest entry, at 1,000 random states of each case.
func TestCVodeRates(t *testing.T) {
	program := buildCVode(t)
	for _, c := range cvodeCases(t)[:5] {
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
		all[i] = cvodeState(twin, random, i)
		for _, v := range all[i] {
			fmt.Fprintf(&input, "%x\n", v)
		}
	}
	run := exec.Command(program, "compare", file)
	run.Stdin = strings.NewReader(input.String())
	said, err := run.Output()
	require.NoError(tb, err)
	reader := strings.NewReader(string(said))
	rates, terms, product := make([]float64, twin.States), make([]float64, twin.States), make([]float64, twin.States)
	for i, y := range all {
		twin.Rates(y, rates, terms)
		largest := 0.0
		if twin.Species == 1 {
			twin.Product(y, product)
		}
		for _, v := range product {
			largest = math.Max(largest, math.Abs(v))
		}
		for k := range y {
			var rate, by float64
			_, err := fmt.Fscanf(reader, "%v %v\n", &rate, &by)
			require.NoError(tb, err)
			require.InDelta(tb, rates[k], rate, 1e-12*terms[k], "state %d: rate %d of %v", i, k, y)
			require.InDelta(tb, product[k], by, 1e-9*largest, "state %d: Jacobian row %d of %v", i, k, y)
		}
	}
}

// cvodeState is the i-th random state: pressures from 0.01 Pa to 90 kPa, each by
// itself or all close together; of two gases both, nearly none of one of them, or
// vapour alone; puddles as liquid, as ice, half melted and nearly gone, under
// any vapour and every other time under vapour close to saturation.
func cvodeState(twin *vacuum.CVodeTwin, random *rand.Rand, i int) []float64 {
	var y []float64
	common, spread := 16*random.Float64()-4.6, math.Exp(-12*random.Float64())
	for k := range twin.Volumes {
		p := math.Exp(16*random.Float64() - 4.6)
		if i%2 == 1 {
			p = math.Exp(common + spread*random.Float64())
		}
		if twin.Species == 1 {
			y = append(y, p/twin.PerMole[k])
			continue
		}
		vapour := random.Float64()
		switch random.IntN(4) {
		case 0:
			vapour = math.Exp(-20 * random.Float64())
		case 1:
			vapour = 1 - math.Exp(-20*random.Float64())
		case 2:
			vapour = float64(random.IntN(8)/7) + vapour*float64(1-random.IntN(8)/7)
		}
		vapour = math.Min(vapour, 1)
		y = append(y, vapour*p/twin.PerMole[k], (1-vapour)*p/twin.PerMole[k])
	}
	for k, puddle := range twin.Puddles {
		water, saturation := puddleState(puddle, random)
		if node := twin.PuddleIn[k]; random.IntN(2) == 0 {
			away := math.Exp(-14*random.Float64()) * float64(1-2*random.IntN(2))
			y[2*node] = saturation * (1 + away) / twin.PerMole[node]
		}
		y = append(y, water...)
	}
	return y
}

// puddleState is a random state of a puddle and its saturation pressure.
func puddleState(puddle moisture.Puddle, random *rand.Rand) (state []float64, saturation float64) {
	state = make([]float64, 2)
	all := puddle.Mass
	puddle.Mass *= units.Mass(random.Float64())
	if random.IntN(3) == 0 {
		puddle.Mass = all * units.Mass(math.Exp(-20*random.Float64()))
	}
	triple := float64(moisture.TriplePoint)
	melted, t := 0.0, triple+25*random.Float64()
	switch random.IntN(3) {
	case 0:
		t = triple - 55*random.Float64()
	case 1:
		melted, t = random.Float64(), triple
	}
	puddle.Temperature = units.Temperature(t)
	puddle.Start(state, moisture.Surroundings{})
	if melted > 0 {
		state[1] = -melted * state[0] * float64(moisture.LatentHeatFusion)
	}
	return state, moisture.StableSaturationPressure().Eval(t)
}

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
	// least is the error that counts as none: the truth is no better known.
	least float64
}

func (c *cvodeCase) truth(tb testing.TB) cvodeTruth {
	r := cvodeTruth{event: c.inGo(tb, c.reference, 1).event, least: 10 * c.reference}
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
	samples, err := simulate(b, c.circuit, c.options(tolerance)).CVodeSamples(truth.times, false)
	require.NoError(b, err)
	truth.judge(&inGo, samples)
	return inGo, inC
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

// curve measures and prints one circuit; it answers with the runs at 1e-6.
func (c *cvodeCase) curve(b *testing.B, program string) (goAt, cAt cvodeRun) {
	truth := c.truth(b)
	inGo, inC := make([]cvodeRun, len(c.tolerances)), make([]cvodeRun, len(c.tolerances))
	for i, tolerance := range c.tolerances {
		inGo[i], inC[i] = c.measure(b, program, tolerance, &truth)
	}
	for tolerance := c.tolerances[len(inC)-1] / 10; tolerance > 0.9*c.reference; tolerance /= 10 { // so that every error in Go has its match
		inC = append(inC, c.alone(b, program, tolerance, &truth))
	}
	last := inC[len(inC)-1]
	fmt.Printf("\n%s: 500 micron at %.9g s; CVODE at %.0e differs by %.1e in that, by %.1e in pressures\n",
		c.name, truth.event, c.reference, last.late, last.off)
	fmt.Printf("%9s | %9s %6s %8s %8s | %9s %6s %8s %8s | %9s %8s %8s %8s\n", "tolerance", "Go ms", "steps", "event", "pressure",
		"C ms", "steps", "event", "pressure", "same tol.", "event", "event*", "pressure")
	late := func(r cvodeRun) float64 { return math.Max(r.late, truth.least) }
	off := func(r cvodeRun) float64 { return math.Max(r.off, truth.least) }
	steadyC := steady(inC)
	var worstLate, worstOff float64
	for i, tolerance := range c.tolerances {
		g, cv := inGo[i], inC[i]
		sure := steady(inGo)[i]
		equalLate, equalOff := g.seconds/timeAt(late(sure), late, inC), g.seconds/timeAt(off(sure), off, inC)
		equalSure := g.seconds / timeAt(late(sure), late, steadyC)
		worstLate, worstOff = math.Max(worstLate, equalLate), math.Max(worstOff, equalOff)
		fmt.Printf("%9.0e | %9.3f %6d %8.1e %8.1e | %9.3f %6d %8.1e %8.1e | %9.2f %8.2f %8.2f %8.2f\n", tolerance, 1e3*g.seconds, g.steps,
			g.late, g.off, 1e3*cv.seconds, cv.steps, cv.late, cv.off, g.seconds/cv.seconds, equalLate, equalSure, equalOff)
		if tolerance == 1e-6 {
			goAt, cAt = g, cv
			b.ReportMetric(equalLate, "Go/C@event")
			b.ReportMetric(equalSure, "Go/C@event*")
			b.ReportMetric(equalOff, "Go/C@pressure")
		}
	}
	for i, cv := range inC[len(inGo):] {
		fmt.Printf("%9.0e | %9s %6s %8s %8s | %9.3f %6d %8.1e %8.1e |\n", c.tolerances[len(inGo)-1]*math.Pow(10, float64(-i-1)),
			"", "", "", "", 1e3*cv.seconds, cv.steps, cv.late, cv.off)
	}
	b.ReportMetric(worstLate, "worst@event")
	b.ReportMetric(worstOff, "worst@pressure")
	return goAt, cAt
}

// steady gives every run the largest error of it and of all at tighter
// tolerances: one that is right by chance, the error changing its sign there, is no
// better than those that take more steps.
func steady(runs []cvodeRun) []cvodeRun {
	out := slices.Clone(runs)
	for i := len(out) - 2; i >= 0; i-- {
		out[i].late, out[i].off = math.Max(out[i].late, out[i+1].late), math.Max(out[i].off, out[i+1].off)
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
