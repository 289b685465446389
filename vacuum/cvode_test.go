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
		"-I/usr/include/suitesparse", "-o", program, source+"pulldown.c", source+"flow.c", source+"friction.c", source+"water.c",
		"-lsundials_cvode", "-lsundials_nvecserial", "-lsundials_sunmatrixsparse", "-lsundials_sunmatrixdense",
		"-lsundials_sunlinsolklu", "-lsundials_sunlinsoldense", "-lklu", "-lm")
	said, err := cc.CombinedOutput()
	require.NoError(tb, err, "%s\ninstall a C compiler, libsundials-dev and libsuitesparse-dev", said)
	return program
}

func (c *cvodeCase) options(tolerance float64) *vacuum.Options {
	return &vacuum.Options{RelTol: tolerance, MaxSamples: 16, SampleChange: 1e5, SampleEvery: 2400 * time.Hour}
}

// file writes the input of the C program for a tolerance, of which it holds one
// constant of the law; below what the package takes, that of the least.
func (c *cvodeCase) file(tb testing.TB, tolerance float64) (*vacuum.CVodeTwin, string) {
	twin, err := vacuum.NewCVodeTwin(simulate(tb, c.circuit, c.options(math.Max(tolerance, 1e-10))), c.far, float64(cvodeTarget))
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
