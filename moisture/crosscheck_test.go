//go:build crosscheck

package moisture

import (
	"bufio"
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"example.com/drydown/units"
	"github.com/stretchr/testify/require"
)

// These tests compare the package with independent programs, run as separate
// processes: the Python package iapws (Debian python3-iapws) and the JavaScript
// package psychrolib (npm psychrolib 1.1.1). DRYDOWN_PYTHON and DRYDOWN_NODE name
// the interpreters, otherwise /usr/bin/python3 and node on the PATH; node finds
// psychrolib through NODE_PATH. A missing tool is a failure.

// ask runs a program with one line of input per point and returns one line of
// numbers per point.
func ask(t *testing.T, name string, points [][]float64, program ...string) [][]float64 {
	t.Helper()
	var in bytes.Buffer
	for _, p := range points {
		for i, v := range p {
			if i > 0 {
				in.WriteByte(' ')
			}
			in.WriteString(strconv.FormatFloat(v, 'g', -1, 64))
		}
		in.WriteByte('\n')
	}
	cmd := exec.Command(program[0], program[1:]...)
	cmd.Stdin = &in
	var errors bytes.Buffer
	cmd.Stderr = &errors
	out, err := cmd.Output()
	require.NoErrorf(t, err, "%s did not run: %s", name, errors.String())
	var answers [][]float64
	lines := bufio.NewScanner(bytes.NewReader(out))
	for lines.Scan() {
		var row []float64
		for _, word := range strings.Fields(lines.Text()) {
			v, err := strconv.ParseFloat(word, 64)
			require.NoError(t, err)
			row = append(row, v)
		}
		answers = append(answers, row)
	}
	require.Len(t, answers, len(points), "%s answered another number of points", name)
	return answers
}

func tool(variable, otherwise string) string {
	if path := os.Getenv(variable); path != "" {
		return path
	}
	return otherwise
}

// python evaluates an expression list of the variables a, b, ... for each point.
func python(t *testing.T, expression string, points [][]float64) [][]float64 {
	t.Helper()
	program := `import sys, warnings
warnings.filterwarnings("ignore")
from iapws import IAPWS95
from iapws.iapws97 import _PSat_T, _TSat_P
from iapws._iapws import _Sublimation_Pressure, _Melting_Pressure, _Ice, _Viscosity, _ThCond
w = IAPWS95()
def state(t, x): return IAPWS95(T=t, x=x)
for line in sys.stdin:
    v = [float(s) for s in line.split()]
    a = v[0]; b = v[1] if len(v) > 1 else 0
    print(*[repr(float(y)) for y in (` + expression + `,)])
`
	return ask(t, "python3 with iapws", points, tool("DRYDOWN_PYTHON", "/usr/bin/python3"), "-c", program)
}

// node does the same with psychrolib as p.
func node(t *testing.T, expression string, points [][]float64) [][]float64 {
	t.Helper()
	program := `const p = require("psychrolib"); p.SetUnitSystem(p.SI);
const lines = require("fs").readFileSync(0, "utf8").trim().split("\n");
for (const line of lines) { const [a, b] = line.split(" ").map(Number); console.log([` + expression + `].join(" ")); }`
	return ask(t, "node with psychrolib", points, tool("DRYDOWN_NODE", "node"), "-e", program)
}

// grid has one point per line from lo to hi.
func grid(lo, hi, step float64) [][]float64 {
	var points [][]float64
	for i := 0; lo+float64(i)*step <= hi*(1+1e-12); i++ {
		points = append(points, []float64{lo + float64(i)*step})
	}
	return points
}

// compare prints the largest relative difference over the points and gates it.
func compare(t *testing.T, pair string, gate float64, points, theirs [][]float64, column int, ours func(p []float64) float64) {
	t.Helper()
	worst, at := 0.0, points[0]
	for i, p := range points {
		want := theirs[i][column]
		difference := math.Abs(ours(p)/want - 1)
		if !(difference <= worst) {
			worst, at = difference, p
		}
	}
	fmt.Printf("%-62s %9.2e at %v, gate %.2g, %d points\n", pair, worst, at, gate, len(points))
	if !(worst <= gate) {
		t.Errorf("%s: %.3g exceeds %.3g at %v", pair, worst, gate, at)
	}
}

func TestCrosscheckSameEquations(t *testing.T) {
	const same = 1e-12
	liquid := grid(273.15, 623.15, 0.5)
	compare(t, "R7-97 pressure, iapws", same, liquid, python(t, "_PSat_T(a)*1e6", liquid), 0,
		func(p []float64) float64 { return liquidPressure(p[0]) })
	pressures := make([][]float64, len(liquid))
	for i, p := range liquid {
		pressures[i] = []float64{liquidPressure(p[0]) * 1.0001}
	}
	compare(t, "R7-97 temperature, iapws", same, pressures, python(t, "_TSat_P(a*1e-6)", pressures), 0,
		func(p []float64) float64 { return liquidTemperature(p[0]) })
	ice := grid(50, 273.15, 0.25)
	compare(t, "R14-08 sublimation, iapws", same, ice, python(t, "_Sublimation_Pressure(a)*1e6", ice), 0,
		func(p []float64) float64 { return icePressure(p[0]) })
	melting := grid(251.2, 273.1, 0.1)
	compare(t, "R14-08 melting, iapws", same, melting, python(t, `_Melting_Pressure(a,"Ih")*1e6`, melting), 0,
		func(p []float64) float64 { return meltingPressure(p[0]) })
	sr186 := grid(273.2, 646, 0.5)
	theirs := python(t, "w._Vapor_Pressure(a)*1e6, w._Liquid_Density(a), w._Vapor_Density(a)", sr186)
	compare(t, "SR1-86 pressure, iapws", same, sr186, theirs, 0,
		func(p []float64) float64 { v, _ := sr186Pressure(p[0]); return v })
	compare(t, "SR1-86 liquid density, iapws", same, sr186, theirs, 1,
		func(p []float64) float64 { return sr186LiquidDensity(p[0]) })
	compare(t, "SR1-86 vapour density, iapws", same, sr186, theirs, 2,
		func(p []float64) float64 { return sr186VapourDensity(p[0]) })
	for i := range ice {
		ice[i] = append(ice[i], 101325*float64(i%7))
	}
	theirs = python(t, `_Ice(a,b*1e-6)["rho"], _Ice(a,b*1e-6)["h"]*1e3, _Ice(a,b*1e-6)["cp"]*1e3, _Ice(a,b*1e-6)["s"]*1e3`, ice)
	for column, pick := range []func(s IceState) float64{
		func(s IceState) float64 { return float64(s.Density) }, func(s IceState) float64 { return float64(s.Enthalpy) },
		func(s IceState) float64 { return s.HeatCapacity }, func(s IceState) float64 { return s.Entropy },
	} {
		name := []string{"density", "enthalpy", "heat capacity", "entropy"}[column]
		compare(t, "R10-06 ice "+name+", iapws", same, ice, theirs, column, func(p []float64) float64 {
			s, err := IceProperties(units.Temperature(p[0]), units.Pressure(p[1]))
			require.NoError(t, err)
			return pick(s)
		})
	}
	vapour := grid(273.16, 1073.15, 2)
	theirs = python(t, "_Viscosity(0, a), _ThCond(0, a)", vapour)
	compare(t, "R12-08 viscosity at zero density, iapws", same, vapour, theirs, 0,
		func(p []float64) float64 { return vapourViscosity(p[0]) })
	compare(t, "R15-11 conductivity at zero density, iapws", same, vapour, theirs, 1,
		func(p []float64) float64 { return vapourConductivity(p[0]) })
}

func TestCrosscheckIAPWS95(t *testing.T) {
	points := grid(273.17, 373.15, 0.5)
	theirs := python(t, "state(a,1).P*1e6, state(a,1).rho, (state(a,1).h-state(a,0).h)*1e3, state(a,0).rho, state(a,0).h*1e3, state(a,1).h*1e3", points)
	compare(t, "R7-97 pressure, IAPWS-95", 150e-6, points, theirs, 0, func(p []float64) float64 { return liquidPressure(p[0]) })
	compare(t, "SR1-86 pressure, IAPWS-95", 150e-6, points, theirs, 0, func(p []float64) float64 { v, _ := sr186Pressure(p[0]); return v })
	compare(t, "SR1-86 liquid density, IAPWS-95", 150e-6, points, theirs, 3, func(p []float64) float64 { return sr186LiquidDensity(p[0]) })
	compare(t, "SR1-86 vapour density, IAPWS-95", 150e-6, points, theirs, 1, func(p []float64) float64 { return sr186VapourDensity(p[0]) })
	// Near the triple point, where the liquid's enthalpy is zero, nothing relative can be said.
	warm := len(points) / 10
	compare(t, "SR1-86 liquid enthalpy from 10 °C, IAPWS-95", 150e-6, points[warm:], theirs[warm:], 4, func(p []float64) float64 { return sr186LiquidHeat(p[0]) })
	compare(t, "SR1-86 vapour enthalpy, IAPWS-95", 160e-6, points, theirs, 5, func(p []float64) float64 { return sr186VapourHeat(p[0]) })
	compare(t, "latent heat of vaporisation, IAPWS-95", 0.04/2256, points, theirs, 2, func(p []float64) float64 { return vaporisationHeat(p[0]) })
	pressure := map[float64]float64{}
	for i, p := range points {
		pressure[p[0]] = theirs[i][0]
	}
	density := func(p []float64) float64 { _, rho, _ := vapourSeries(p[0], pressure[p[0]]); return rho }
	compare(t, "vapour density at saturation to 20 °C, IAPWS-95", 3e-9, points[:40], theirs, 1, density)
	compare(t, "vapour density at saturation to 60 °C, IAPWS-95", 1e-6, points[:120], theirs, 1, density)
	compare(t, "vapour density at saturation to 100 °C, IAPWS-95", 25e-6, points, theirs, 1, density)
	ideal := func(p []float64) float64 { return pressure[p[0]] / (GasConstantWater * p[0]) }
	compare(t, "ideal-gas density to 20 °C, IAPWS-95", 1.6e-3, points[:40], theirs, 1, ideal)
	compare(t, "ideal-gas density to 60 °C, IAPWS-95", 6e-3, points[:120], theirs, 1, ideal)
	compare(t, "ideal-gas density to 100 °C, IAPWS-95", 1.7e-2, points, theirs, 1, ideal)
}

func TestCrosscheckHylandWexler(t *testing.T) {
	celsius := func(lo, hi float64) [][]float64 { return grid(lo, hi, 0.25) }
	const gate = 350e-6
	ice, liquid := celsius(-100, 0), celsius(0.25, 100)
	compare(t, "ice R14-08, Hyland-Wexler", gate, ice, node(t, "p.GetSatVapPres(a)", ice), 0,
		func(p []float64) float64 { return icePressure(p[0] + 273.15) })
	theirs := node(t, "p.GetSatVapPres(a)", liquid)
	compare(t, "R7-97, Hyland-Wexler", gate, liquid, theirs, 0, func(p []float64) float64 { return liquidPressure(p[0] + 273.15) })
	compare(t, "SR1-86, Hyland-Wexler", gate, liquid, theirs, 0, func(p []float64) float64 { v, _ := sr186Pressure(p[0] + 273.15); return v })

	// Humid air: psychrolib has no enhancement factor, so that it is taken out of ours.
	var air [][]float64
	for _, p := range celsius(-40, 60) {
		for _, rh := range []float64{0.1, 0.5, 0.9} {
			air = append(air, []float64{p[0], rh})
		}
	}
	at := func(p []float64) HumidAir {
		a, err := AirAtHumidity(units.Temperature(p[0]+273.15), 101325, units.RelativeHumidity(p[1]))
		require.NoError(t, err)
		return a
	}
	theirs = node(t, "p.GetVapPresFromRelHum(a, b), p.GetTDewPointFromRelHum(a, b) + 273.15, p.GetHumRatioFromRelHum(a, b, 101325)", air)
	compare(t, "vapour pressure over enhancement factor, psychrolib", gate, air, theirs, 0,
		func(p []float64) float64 { a := at(p); return float64(a.Vapour) / a.Enhancement })
	// 350 ppm in pressure are 5 mK.
	compare(t, "dew or frost point without enhancement, psychrolib", 2e-5, air, theirs, 1, func(p []float64) float64 {
		a := at(p)
		point, _, err := SaturationTemperature(units.Pressure(float64(a.Vapour) / a.Enhancement))
		require.NoError(t, err)
		return float64(point)
	})

	// The same humidity ratio into both: what is left is the gas constant of dry air,
	// 287.042 J/(kg K) there.
	var mixed [][]float64
	for i, p := range air {
		mixed = append(mixed, []float64{p[0], theirs[i][2]})
	}
	theirs = node(t, "p.GetMoistAirVolume(a, b, 101325), p.GetVapPresFromHumRatio(b, 101325)", mixed)
	atRatio := func(p []float64) HumidAir {
		a, err := AirAtRatio(units.Temperature(p[0]+273.15), 101325, p[1])
		require.NoError(t, err)
		return a
	}
	compare(t, "specific volume at the same humidity ratio, psychrolib", 25e-6, mixed, theirs, 0,
		func(p []float64) float64 { return atRatio(p).SpecificVolume() })
	compare(t, "vapour pressure at the same humidity ratio, psychrolib", 1e-12, mixed, theirs, 1,
		func(p []float64) float64 { return float64(atRatio(p).Vapour) })
}

// TestCrosscheckHardy evaluates Hardy's own pure-vapour equations (B. Hardy 1998,
// coefficients as in several public sources that agree) as another formulation.
func TestCrosscheckHardy(t *testing.T) {
	power := func(t float64, from int, k ...float64) float64 {
		sum := 0.0
		for i, v := range k {
			sum += v * math.Pow(t, float64(from+i))
		}
		return sum
	}
	evaluate := func(points [][]float64, ln func(t float64) float64) [][]float64 {
		var rows [][]float64
		for _, p := range points {
			rows = append(rows, []float64{math.Exp(ln(p[0]))})
		}
		return rows
	}
	ice := grid(173.15, 273.15, 0.25)
	compare(t, "ice R14-08, Hardy", 3e-3, ice, evaluate(ice, func(t float64) float64 {
		return power(t, -1, -5.8666426e3, 2.232870244e1, 1.39387003e-2, -3.4262402e-5, 2.7040955e-8) + 6.7063522e-1*math.Log(t)
	}), 0, func(p []float64) float64 { return icePressure(p[0]) })
	liquid := grid(273.16, 373.15, 0.25)
	compare(t, "R7-97, Hardy", 350e-6, liquid, evaluate(liquid, func(t float64) float64 {
		return power(t, -2, -2.8365744e3, -6.028076559e3, 1.954263612e1, -2.737830188e-2, 1.6261698e-5, 7.0229056e-10, -1.8680009e-13) + 2.7150305*math.Log(t)
	}), 0, func(p []float64) float64 { return liquidPressure(p[0]) })
}
