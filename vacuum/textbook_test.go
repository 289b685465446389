package vacuum_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// VT handbook (Vacuum Technology, a pump-maker's textbook), sec. 7.3.2: a pump
// of 2.9722e-2 m³/s behind a pipe of 0.017123 m³/s.
func ExampleEffectiveSpeed_pumpBehindPipe() {
	s, _ := vacuum.EffectiveSpeed(2.9722e-2, 0.017123)
	fmt.Printf("%.4e m³/s\n", float64(s))
	// Output: 1.0864e-02 m³/s
}

// O. Levenspiel, Engineering Flow and Heat Exchange, 3rd ed., Example 4.2: an
// orifice, a line and a pump in molecular flow, 1.1, 81.5 and 5 s/m³.
func ExampleSeriesConductance_levenspielExample42() {
	c, _ := vacuum.SeriesConductance(1/1.1, 1/81.5, 1/5.0)
	fmt.Printf("%.4f m³/s\n", float64(c))
	// Output: 0.0114 m³/s
}

// Murugaperumal, gas-dynamics textbook, Example 3.2 (textbook companion, IIT
// Bombay): D = 0.02 m, f = 0.004, air from Mach 0.1 to 0.5.
func ExampleFannoFriction_murugaperumalExample32() {
	entrance, _ := vacuum.FannoFriction(1.4, 0.1)
	exit, _ := vacuum.FannoFriction(1.4, 0.5)
	fmt.Printf("4fL*/D %.3f and %.3f, length %.2f m\n", entrance, exit, (entrance-exit)*0.02/(4*0.004))
	// Output: 4fL*/D 66.922 and 1.069, length 82.32 m
}

// Umrath, Fundamentals of Vacuum Technology, sec. 2.1.2.2.4: a tenth of the
// speed as ballast, exhaust at 1330 mbar and 70 °C, vapour 312 and 13 mbar.
func ExampleBallastTolerance_umrath() {
	p, _ := vacuum.BallastTolerance(0.10, 1330*units.Millibar, 312*units.Millibar, 13*units.Millibar)
	fmt.Printf("%.0f mbar\n", p.In(units.Millibar))
	// Output: 39 mbar
}

// CRC Handbook of Chemistry and Physics, 100th ed.: nitrogen, 3.70 Å, 25 °C,
// 100 kPa, printed as 67.6 nm.
func ExampleHardSphereMeanFreePath_crcHandbook() {
	l, _ := vacuum.HardSphereMeanFreePath(3.70e-10, 100*units.Kilopascal, units.Celsius(25))
	fmt.Printf("%.3g nm\n", float64(l)*1e9)
	// Output: 67.7 nm
}

// What is holding the pull back at 50 Pa: a hose of 1/4 in with its fittings, a
// core tool and the valve core left in. Sizes are common practice.
func ExamplePassage_Resistances() {
	way := vacuum.Series(vacuum.CoreTool(true), vacuum.Hose(6.35*units.Millimetre, 1.5))
	parts, _ := way.Resistances(vacuum.Nitrogen(), 50, 10, units.Celsius(20))
	for _, p := range parts {
		fmt.Printf("%-12s %2.0f %%\n", p.Segment, 100*p.Share)
	}
	// Output:
	// valve core   24 %
	// core tool     4 %
	// hose fitting  4 %
	// hose         65 %
	// hose fitting  4 %
}

func TestPullDownNamesItsFloor(t *testing.T) {
	p := vacuum.PullDown{Volume: 0.01, Speed: 1e-3, BlankOff: 2, Load: 1e-3, Start: 1e5, End: 3}
	_, err := p.Time()
	if !errors.Is(err, units.ErrOutOfRange) || !strings.Contains(err.Error(), "blank-off 2 Pa") {
		t.Errorf("target at the floor: %v", err)
	}
	p.End = 3.1
	if d, err := p.Time(); err != nil || math.Abs(d.Seconds()-10*math.Log((1e5-3)/0.1)) > 1e-6 {
		t.Errorf("%v, %v", d, err)
	}
	p.End = units.Pressure(math.NaN())
	if _, err := p.Time(); !errors.Is(err, units.ErrOutOfRange) {
		t.Errorf("NaN: %v", err)
	}
}

// Closed forms in each other's limits: a pump far stronger than the tube leaves
// the tube alone, a wide tube the pump alone; Knudsen's tube at high pressure
// is the laminar one; one conductance halves the speed.
func TestPullDownLimits(t *testing.T) {
	const mu = 18.2e-6
	seconds := func(d time.Duration, err error) float64 {
		if err != nil {
			t.Fatal(err)
		}
		return d.Seconds()
	}
	same := func(what string, a, b, tolerance float64) {
		if !(math.Abs(a/b-1) <= tolerance) {
			t.Errorf("%s: %g s and %g s", what, a, b)
		}
	}
	p := vacuum.PullDown{Volume: 0.01, Speed: 1e3, Start: 101325, End: 1000}
	same("strong pump", seconds(p.TimeThroughTube(4e-3, 1.5, mu)), seconds(vacuum.LaminarTubeTime(0.01, 4e-3, 1.5, mu, 101325, 1000)), 1e-5)
	p.Speed = 1e-4
	same("wide tube", seconds(p.TimeThroughTube(0.1, 0.1, mu)), seconds(p.Time()), 1e-5)
	same("equal conductance", seconds(p.TimeThrough(1e-4)), 2*seconds(p.Time()), 1e-9)
	gas := vacuum.Air()
	viscosity, err := gas.Viscosity(units.Celsius(20))
	if err != nil {
		t.Fatal(err)
	}
	knudsen := seconds(vacuum.KnudsenTubeTime(1, 5e-3, 1, gas, units.Celsius(20), 1e6, 5e5))
	same("dense gas", knudsen, seconds(vacuum.LaminarTubeTime(1, 5e-3, 1, viscosity, 1e6, 5e5)), 1e-4)
	// Thin gas: V/C·ln(p0/p) with the molecular conductance.
	c, err := vacuum.MolecularConductance(5e-3, 1, gas.MolarMass, units.Celsius(20))
	if err != nil {
		t.Fatal(err)
	}
	knudsen = seconds(vacuum.KnudsenTubeTime(1, 5e-3, 1, gas, units.Celsius(20), 1e-4, 1e-6))
	same("thin gas", knudsen, math.Log(100)/float64(c), 1e-4)
}

// The quadrature against the midpoint rule with Richardson's extrapolation,
// over eight decades of pressure.
func TestKnudsenTubeTimeIsConverged(t *testing.T) {
	const start, end = 1e5, 1e-3
	gas := vacuum.Air()
	midpoint := func(n int) float64 {
		h, sum := math.Log(start/end)/float64(n), 0.0
		for i := range n {
			p := end * math.Exp((float64(i)+0.5)*h)
			c, err := vacuum.KnudsenConductance(5e-3, 1, gas, units.Pressure(p/2), 293.15)
			if err != nil {
				t.Fatal(err)
			}
			sum += h / float64(c)
		}
		return sum
	}
	want := (4*midpoint(20000) - midpoint(10000)) / 3
	got, err := vacuum.KnudsenTubeTime(1, 5e-3, 1, gas, 293.15, start, end)
	if err != nil || math.Abs(got.Seconds()/want-1) > 1e-9 {
		t.Errorf("%v, midpoint rule %g s, %v", got, want, err)
	}
}

func TestEffectiveBoreFindsTheTube(t *testing.T) {
	for _, bore := range []units.Length{1e-4, 2e-3, 0.03} {
		n, err := vacuum.Tube(bore, 0.5).MolarFlow(vacuum.Nitrogen(), 2e5, 1e5, 300)
		if err != nil {
			t.Fatal(err)
		}
		got, err := vacuum.EffectiveBore(0.5, vacuum.Nitrogen(), 2e5, 1e5, 300, n)
		if err != nil || math.Abs(float64(got/bore)-1) > 1e-9 {
			t.Errorf("%v m found as %v m, %v", bore, got, err)
		}
	}
	if _, err := vacuum.EffectiveBore(0.5, vacuum.Nitrogen(), 1e5, 2e5, 300, 1e-3); !errors.Is(err, units.ErrOutOfRange) {
		t.Errorf("down above up: %v", err)
	}
	if _, err := vacuum.EffectiveBore(0.5, vacuum.Nitrogen(), 2e5, 1e5, 300, 1e5); !errors.Is(err, units.ErrOutOfRange) {
		t.Errorf("impossible flow: %v", err)
	}
}

// The definition of Kv, IEC 60534: 1 m³/h of water (1000 kg/m³) at 1 bar; the
// orifice's Cd·A must pass it, Q = Cd·A·√(2Δp/ρ).
func TestFlowCoefficientPassesItsWater(t *testing.T) {
	p, err := vacuum.FlowCoefficient(2.5)
	if err != nil {
		t.Fatal(err)
	}
	if q := 0.84 * float64(p[0].Bore.Circle()) * math.Sqrt(2*1e5/1000) * 3600; math.Abs(q-2.5) > 1e-9 {
		t.Errorf("passes %g m³/h", q)
	}
	if _, err := vacuum.FlowCoefficient(math.NaN()); !errors.Is(err, units.ErrOutOfRange) {
		t.Errorf("NaN: %v", err)
	}
}

func TestTextbookFunctionsRefuseNonsense(t *testing.T) {
	nan := math.NaN()
	length, pressure, kelvin := units.Length(nan), units.Pressure(nan), units.Temperature(nan)
	for name, err := range map[string]error{
		"speed":        second(vacuum.MeanThermalSpeed(0.028, kelvin)),
		"aperture":     second(vacuum.ApertureConductance(1, 28, 300)), // g/mol by mistake
		"molecular":    second(vacuum.MolecularConductance(length, 1, 0.028, 300)),
		"short":        second(vacuum.ShortTubeConductance(1, -1, 0.028, 300)),
		"laminar":      second(vacuum.LaminarConductance(1, 0, 1e-5, 1)),
		"knudsen":      second(vacuum.KnudsenConductance(1, 1, vacuum.Air(), pressure, 300)),
		"air":          second(vacuum.AirConductance20C(1, 1, -1)),
		"path":         second(vacuum.HardSphereMeanFreePath(0, 1, 300)),
		"regime":       second(vacuum.FlowRegime(length, 1)),
		"effective":    second(vacuum.EffectiveSpeed(-1, 1)),
		"series":       second(vacuum.SeriesConductance()),
		"parallel":     second(vacuum.ParallelConductance(1, units.Conductance(nan))),
		"critical":     second(vacuum.CriticalPressureRatio(1)),
		"outflow":      second(vacuum.OutflowFunction(1.4, 1.1)),
		"nozzle":       second(vacuum.NozzleFlow(1, vacuum.Air(), 1, 2, 300)),
		"fanno":        second(vacuum.FannoPressure(1.4, nan)),
		"transmission": second(vacuum.TransmissionProbability(-1)),
		"ballast":      second(vacuum.BallastTolerance(0.1, 1e5, 1e5, 0)),
		"drying":       second(vacuum.IsothermalDryingTime(1, 0, 1, 300)),
	} {
		if !errors.Is(err, units.ErrOutOfRange) {
			t.Errorf("%s: %v", name, err)
		}
	}
	parallel, err := vacuum.ParallelConductance(1, 2, 3)
	if err != nil || parallel != 6 {
		t.Errorf("parallel: %v, %v", parallel, err)
	}
}

func second[T any](_ T, err error) error { return err }
