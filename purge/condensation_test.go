package purge

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/units"
)

// A circuit at 20 °C pulled to 1000 micron holds almost nothing but vapour.
// Nitrogen that mixes never condenses it; a piston would above 2.3 kPa; a
// branch of half a metre does so only if the pressure rises fast.
func ExampleHighestDryBreakPressure() {
	b := Break{
		Low: 1000 * units.Micron, Vapour: 0.95, Wall: units.Celsius(20),
		Leg: 0.5, Rate: 200,
	}
	for _, mixing := range []BreakMixing{WellMixed, Piston, DeadLeg} {
		limit, err := HighestDryBreakPressure(b, mixing)
		if err != nil {
			fmt.Println(err)
			return
		}
		if limit.Bound != Bounded {
			fmt.Printf("%v: %v\n", mixing, limit.Bound)
			continue
		}
		fmt.Printf("%v: %.0f Pa\n", mixing, float64(limit.Pressure))
	}
	// Output:
	// well mixed: unbounded
	// piston: 2462 Pa
	// dead leg: unbounded
}

// deadLegByDifferences solves the compression of a leg of length over layer
// lengths on a fixed grid, from low to high, and returns the highest partial
// pressure at the closed end over low for an initial mole fraction of 1. In
// s = ln p the mole fraction follows
//
//	∂y/∂s = x ∂y/∂x + δ² ∂²y/∂x²
//
// with x from the closed end, δ = 1: the drift of a gas compressed evenly and
// plain diffusion with D p constant. Crank and Nicolson, after a few implicit
// steps that calm the jump.
func deadLegByDifferences(length, highOverLow float64) float64 {
	const n, steps = 3000, 3000
	far := length + 8
	dx := far / n
	y, diag, rhs := make([]float64, n+1), make([]float64, n+1), make([]float64, n+1)
	for i := range y {
		y[i] = math.Max(0, math.Min(1, (length-float64(i)*dx)/dx+0.5))
	}
	ds := math.Log(highOverLow) / steps
	// Row i of the operator: a y[i-1] - 2/dx² y[i] + c y[i+1].
	off := func(i int) (a, c float64) {
		drift := float64(i) * dx / (2 * dx)
		return 1/(dx*dx) - drift, 1/(dx*dx) + drift
	}
	best := 1.0
	for k := range steps {
		w := 0.5
		if k < 10 {
			w = 1
		}
		h := ds * w
		e := ds * (1 - w)
		for i := range n {
			a, c := off(i)
			left := y[1]
			if i > 0 {
				left = y[i-1]
			}
			rhs[i] = y[i] + e*(a*left-2/(dx*dx)*y[i]+c*y[i+1])
		}
		// Thomas algorithm; row 0 mirrors at the closed end, row n is pure nitrogen.
		a0, c0 := off(0)
		diag[0] = 1 + 2*h/(dx*dx)
		upper := -h * (a0 + c0)
		for i := 1; i < n; i++ {
			a, c := off(i)
			m := -h * a / diag[i-1]
			diag[i] = 1 + 2*h/(dx*dx) - m*upper
			rhs[i] -= m * rhs[i-1]
			upper = -h * c
		}
		y[n] = 0
		for i := n - 1; i >= 0; i-- {
			_, c := off(i)
			if i == 0 {
				c += a0
			}
			y[i] = (rhs[i] + h*c*y[i+1]) / diag[i]
		}
		best = math.Max(best, y[0]*math.Exp(float64(k+1)*ds))
	}
	return best
}

// The closed form for the dead leg against finite differences in space and
// pressure, which know nothing of coordinates that move with the gas.
func TestDeadLegAgainstFiniteDifferences(t *testing.T) {
	for _, c := range []struct{ length, ratio float64 }{
		{0.5, 30}, {1, 30}, {2, 10}, {2, 300}, {5, 100},
	} {
		b := Break{Low: 100, Vapour: 1, Wall: units.Celsius(20), Rate: 100}
		b.Leg = units.Length(c.length) * must(DiffusionLayer(b.Wall, b.Rate))
		got := must(VapourAfterBreak(b, DeadLeg, 100*units.Pressure(c.ratio)))
		want := deadLegByDifferences(c.length, c.ratio)
		assert.InEpsilon(t, want, float64(got)/100, 3e-3, "%g layers, ratio %g", c.length, c.ratio)
	}
}

func drawBreak(t *rapid.T) Break {
	return Break{
		Low:    units.Pressure(math.Exp(rapid.Float64Range(1, 9).Draw(t, "ln low"))),
		Vapour: units.MoleFraction(rapid.Float64Range(0, 1).Draw(t, "vapour")),
		Wall:   units.Celsius(rapid.Float64Range(-20, 40).Draw(t, "°C")),
		Leg:    units.Length(math.Exp(rapid.Float64Range(-4, 2).Draw(t, "ln leg"))),
		Rate:   units.PressureRate(math.Exp(rapid.Float64Range(0, 10).Draw(t, "ln rate"))),
	}
}

// Mixed is never wetter than the dead leg, the dead leg never wetter than the
// piston, and each limit is where the vapour meets saturation.
func TestOrderOfTheThree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBreak(t)
		high := b.Low * units.Pressure(rapid.Float64Range(1, 1000).Draw(t, "high/low"))
		mixed, leg, piston := must(VapourAfterBreak(b, WellMixed, high)),
			must(VapourAfterBreak(b, DeadLeg, high)), must(VapourAfterBreak(b, Piston, high))
		slack := 1e-9 * (1 + piston)
		assert.LessOrEqual(t, mixed, leg+slack)
		assert.LessOrEqual(t, leg, piston+slack)
		more := must(VapourAfterBreak(b, DeadLeg, 2*high))
		assert.GreaterOrEqual(t, more, leg-slack, "the highest on the way only grows")

		for _, mixing := range []BreakMixing{WellMixed, DeadLeg, Piston} {
			limit := must(HighestDryBreakPressure(b, mixing))
			switch limit.Bound {
			case AlreadyWet:
				assert.Greater(t, units.Pressure(b.Vapour)*b.Low, limit.Saturation)
				assert.Zero(t, limit.Pressure)
			case Bounded:
				assert.NotEqual(t, WellMixed, mixing, "a mixed break cannot condense vapour")
				at := must(VapourAfterBreak(b, mixing, limit.Pressure))
				assert.InEpsilon(t, float64(limit.Saturation), float64(at), 1e-6)
			case Unbounded:
				assert.True(t, math.IsInf(float64(limit.Pressure), 1))
				if mixing != Piston {
					at := must(VapourAfterBreak(b, mixing, 1e12))
					assert.LessOrEqual(t, at, limit.Saturation*(1+1e-6))
				}
			}
		}
	})
}

// Long and fast is a piston, short and slow is mixed.
func TestDeadLegLimits(t *testing.T) {
	b := Break{Low: 200, Vapour: 0.9, Wall: units.Celsius(20), Leg: 50, Rate: 5e4}
	assert.InEpsilon(t, 0.9*2e5, float64(must(VapourAfterBreak(b, DeadLeg, 2e5))), 1e-9)
	assert.InEpsilon(t, float64(must(HighestDryBreakPressure(b, Piston)).Pressure),
		float64(must(HighestDryBreakPressure(b, DeadLeg)).Pressure), 1e-9)
	b.Leg, b.Rate = 1e-3, 1
	assert.InEpsilon(t, 0.9*200, float64(must(VapourAfterBreak(b, DeadLeg, 2e5))), 1e-3)
	assert.Equal(t, Unbounded, must(HighestDryBreakPressure(b, DeadLeg)).Bound)
}

func TestCondensationEdges(t *testing.T) {
	// Vapour just at saturation, as over a puddle: mixed stays dry, a piston
	// condenses from the first pascal.
	room := units.Celsius(20)
	b := Break{Low: saturation(room), Vapour: 1, Wall: room}
	assert.Equal(t, Unbounded, must(HighestDryBreakPressure(b, WellMixed)).Bound)
	at := must(HighestDryBreakPressure(b, Piston))
	assert.Equal(t, Bounded, at.Bound)
	assert.InEpsilon(t, float64(b.Low), float64(at.Pressure), 1e-9)
	// A part 5 K colder condenses it whatever the nitrogen does.
	b.Wall = units.Celsius(15)
	for _, mixing := range []BreakMixing{WellMixed, Piston} {
		assert.Equal(t, AlreadyWet, must(HighestDryBreakPressure(b, mixing)).Bound)
	}
	// No vapour, no limit.
	b.Vapour = 0
	assert.Equal(t, Unbounded, must(HighestDryBreakPressure(b, Piston)).Bound)
	// The piston bound as a mole fraction, at 2 psig above sea level and at 2000 m.
	sea := must(PistonMoleFraction(room, (2 * units.PSIG).Absolute(units.Atmosphere)))
	assert.InEpsilon(t, float64(saturation(room))/(101325+2*6894.757293), float64(sea), 1e-9)
	high := must(PistonMoleFraction(room, (2 * units.PSIG).Absolute(must(units.StandardAtmosphere(2000)))))
	assert.Greater(t, high, sea, "thinner air, lower break, more vapour allowed")
	assert.Equal(t, units.MoleFraction(1), must(PistonMoleFraction(room, 100)))
}

func TestDryLimitAsGauge(t *testing.T) {
	room := units.Celsius(20)
	b := Break{Low: 100, Vapour: 0.01, Wall: room}
	limit := must(HighestDryBreakPressure(b, Piston))
	gauge := must(limit.Gauge(units.Atmosphere))
	assert.InEpsilon(t, 100*float64(saturation(room))-101325, float64(gauge), 1e-9)
	_, err := must(HighestDryBreakPressure(b, WellMixed)).Gauge(units.Atmosphere)
	require.ErrorIs(t, err, ErrNoLimit)
	_, err = limit.Gauge(0)
	require.ErrorIs(t, err, units.ErrOutOfRange)
}

// The trade breaks to 2 to 5 psig and not more, for fear of condensing the
// vapour (common practice). What the three models say is printed, not judged.
func TestPracticeBreakPressure(t *testing.T) {
	for _, micron := range []float64{2000, 1000, 500} {
		b := Break{Low: units.Pressure(micron) * units.Micron, Vapour: 0.95, Wall: units.Celsius(20), Leg: 0.3, Rate: 1000}
		for _, mixing := range []BreakMixing{WellMixed, DeadLeg, Piston} {
			limit := must(HighestDryBreakPressure(b, mixing))
			if limit.Bound != Bounded {
				t.Logf("broken from %g micron, 20 °C, %v: %v, so 2 to 5 psig is as dry as 1 psig", micron, mixing, limit.Bound)
				continue
			}
			t.Logf("broken from %g micron, 20 °C, %v: condenses above %.0f Pa absolute, far below 2 psig", micron, mixing, float64(limit.Pressure))
		}
	}
}

func TestBreakRefuses(t *testing.T) {
	nan := math.NaN()
	good := Break{Low: 100, Vapour: 0.5, Wall: 293, Leg: 1, Rate: 100}
	change := func(mixing BreakMixing, f func(*Break)) func() error {
		return func() error { b := good; f(&b); _, err := HighestDryBreakPressure(b, mixing); return err }
	}
	cases := map[string]func() error{
		"low":         change(Piston, func(b *Break) { b.Low = 0 }),
		"vapour":      change(Piston, func(b *Break) { b.Vapour = 1.01 }),
		"vapour NaN":  change(WellMixed, func(b *Break) { b.Vapour = units.MoleFraction(nan) }),
		"wall":        change(WellMixed, func(b *Break) { b.Wall = 0 }),
		"leg":         change(DeadLeg, func(b *Break) { b.Leg = 0 }),
		"rate":        change(DeadLeg, func(b *Break) { b.Rate = 0 }),
		"rate NaN":    change(DeadLeg, func(b *Break) { b.Rate = units.PressureRate(nan) }),
		"no mixing":   change(0, func(*Break) {}),
		"mixing 4":    change(4, func(*Break) {}),
		"high < low":  func() error { _, err := VapourAfterBreak(good, Piston, 99); return err },
		"high":        func() error { _, err := VapourAfterBreak(good, DeadLeg, units.Pressure(math.Inf(1))); return err },
		"layer":       func() error { _, err := DiffusionLayer(293, -1); return err },
		"layer t":     func() error { _, err := DiffusionLayer(20, 1); return err },
		"piston high": func() error { _, err := PistonMoleFraction(293, 0); return err },
		"piston t":    func() error { _, err := PistonMoleFraction(20, 1e5); return err },
	}
	for name, call := range cases {
		require.ErrorIs(t, call(), units.ErrOutOfRange, name)
	}
}

func TestNames(t *testing.T) {
	assert.Equal(t, "dead leg", DeadLeg.String())
	assert.Equal(t, "already wet", AlreadyWet.String())
	assert.Equal(t, "Bound(0)", Bound(0).String())
	assert.Equal(t, "BreakMixing(9)", BreakMixing(9).String())
}
