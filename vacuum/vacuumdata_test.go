package vacuum

import (
	"encoding/csv"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"example.com/drydown/units"
)

// dataRow is one row of a file under testdata.
type dataRow struct {
	name, source, evidence string
	in                     map[string]string
	value, tolerance       float64
}

// num is an input of the row; missing or malformed panics, a slip in the file.
func (r dataRow) num(key string) float64 {
	v, err := strconv.ParseFloat(r.in[key], 64)
	if err != nil {
		panic(fmt.Sprintf("%s %v: %s: %v", r.name, r.in, key, err))
	}
	return v
}

func (r dataRow) molarMass() units.MolarMass { return units.MolarMass(r.num("M") * 1e-3) }
func (r dataRow) kelvin() units.Temperature  { return units.Temperature(r.num("T")) }
func (r dataRow) length(key string) units.Length {
	return units.Length(r.num(key))
}

func (r dataRow) gas(key string) Gas {
	for _, g := range allGases() {
		if g.Name == r.in[key] {
			return g
		}
	}
	panic("no gas " + r.in[key])
}

func allGases() []Gas {
	return []Gas{
		Nitrogen(), Air(), WaterVapour(), Oxygen(), Argon(), Helium(), CarbonDioxide(), R22(),
		R32(), R125(), R134a(), R1234yf(), R290(), R600a(), R410A(), R454B(),
	}
}

// readRows reads a file of rows from testdata.
func readRows(t *testing.T, path string) []dataRow {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "testdata", path))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close() //nolint:errcheck // read only
	c := csv.NewReader(f)
	c.Comment = '#'
	records, err := c.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []dataRow
	for _, rec := range records[1:] {
		r := dataRow{name: rec[0], source: rec[5], evidence: rec[6], in: map[string]string{}}
		for part := range strings.SplitSeq(rec[1], ";") {
			key, value, _ := strings.Cut(part, "=")
			r.in[strings.TrimSpace(key)] = strings.TrimSpace(value)
		}
		if _, err := fmt.Sscan(rec[3], &r.value); err != nil {
			t.Fatalf("%v: %v", rec, err)
		}
		if _, err := fmt.Sscan(rec[4], &r.tolerance); err != nil {
			t.Fatalf("%v: %v", rec, err)
		}
		rows = append(rows, r)
	}
	return rows
}

// must takes a value out of a call that has to succeed.
func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// tempFor is the temperature at which nitrogen has mean speed v.
func tempFor(v float64) units.Temperature {
	return units.Temperature(math.Pi * float64(Nitrogen().MolarMass) * v * v / (8 * units.GasConstant))
}

func pullTime(d time.Duration, err error) float64 { return must(d, err).Seconds() }

// airTube is N tubes of a row in the 12.1 formula, L/s.
func airTube(r dataRow) float64 {
	c := must(AirConductance20C(r.length("d")*units.Centimetre, r.length("L")*units.Centimetre, 0))
	return float64(c) * 1e3 * r.num("N")
}

// shortened is Dushman's correction of the long tube, 1/(1 + 4d/(3L)).
func shortened(r dataRow) float64 {
	l := 2 * r.num("L") / r.num("d")
	return must(DushmanTransmission(l)) * 3 * l / 8
}

// rowFunctions computes what each kind of row states, in the row's unit.
func rowFunctions() map[string]func(dataRow) float64 {
	cm := units.Centimetre
	unitTube := func(r dataRow, d, l units.Length) float64 {
		return float64(must(MolecularConductance(d, l, r.molarMass(), r.kelvin())))
	}
	laminar := func(r dataRow, mean units.Pressure) float64 {
		return 1e3 * float64(must(LaminarConductance(cm, cm, units.Viscosity(r.num("mu")), mean)))
	}
	transmissionBy := func(f func(float64) (float64, error)) func(dataRow) float64 {
		return func(r dataRow) float64 { return must(f(r.num("l"))) }
	}
	resistances := func(r dataRow) float64 {
		return float64(must(SeriesConductance(units.Conductance(1/r.num("R1")), units.Conductance(1/r.num("R2")), units.Conductance(1/r.num("R3")))))
	}
	nozzle := func(r dataRow) float64 { // mol/s per m² and Pa
		g := Air()
		g.MolarMass, g.HeatCapacityRatio = r.molarMass(), r.num("gamma")
		return float64(must(NozzleFlow(1, g, 1, 0, r.kelvin())))
	}
	pull := func(v, s, p1, p2 float64) PullDown {
		return PullDown{Volume: units.Volume(v), Speed: units.VolumeFlow(s), Start: units.Pressure(p1), End: units.Pressure(p2)}
	}
	vapourLoad := func(r dataRow) float64 { // Pa·m³/s
		part := func(flow, m string) units.Throughput {
			return units.MassFlow(r.num(flow)/3600).Throughput(units.MolarMass(r.num(m)*1e-3), r.kelvin())
		}
		return float64(part("mw", "Mw") + part("ma", "Ma"))
	}
	return map[string]func(dataRow) float64{
		"mean-speed": func(r dataRow) float64 { return must(MeanThermalSpeed(r.molarMass(), r.kelvin())) },
		"aperture": func(r dataRow) float64 {
			return 1e3 * float64(must(ApertureConductance(units.SquareCentimetre, r.molarMass(), r.kelvin())))
		},
		"aperture-d2": func(r dataRow) float64 {
			return float64(must(ApertureConductance(units.Metre.Circle(), r.molarMass(), r.kelvin())))
		},
		"long-tube-cgs":  func(r dataRow) float64 { return 1e3 * unitTube(r, cm, cm) },
		"long-tube-inch": func(r dataRow) float64 { return 1e3 * unitTube(r, units.Inch, units.Inch) },
		"long-tube-si":   func(r dataRow) float64 { return unitTube(r, 1, 1) },
		"long-tube-v": func(r dataRow) float64 {
			return float64(must(MolecularConductance(r.length("d"), r.length("L"), Nitrogen().MolarMass, tempFor(r.num("v")))))
		},
		"aperture-and-tube-v": func(r dataRow) float64 {
			t, m := tempFor(r.num("v")), Nitrogen().MolarMass
			tube := must(MolecularConductance(r.length("d"), r.length("L"), m, t))
			return float64(must(SeriesConductance(tube, must(ApertureConductance(r.length("d").Circle(), m, t)))))
		},
		"transmission-exact":    transmissionBy(TransmissionProbability),
		"transmission-berman":   transmissionBy(TransmissionProbability),
		"transmission-santeler": transmissionBy(SantelerTransmission),
		"transmission-dushman":  transmissionBy(DushmanTransmission),
		"transmission-end": func(r dataRow) float64 {
			return must(TransmissionProbability(r.num("l"))) * 3 * r.num("l") / 8
		},
		"dushman-tube": func(r dataRow) float64 {
			return 1e3 * unitTube(r, r.length("d"), r.length("L")) * shortened(r)
		},
		"load-over-speed": func(r dataRow) float64 {
			p := PullDown{Load: units.Throughput(r.num("Q")), Speed: units.VolumeFlow(r.num("S"))}
			return float64(p.Floor())
		},
		"effective-speed": func(r dataRow) float64 {
			return float64(must(EffectiveSpeed(units.VolumeFlow(r.num("S")), units.Conductance(r.num("C")))))
		},
		"resistances":      resistances,
		"pressure-at-pump": func(r dataRow) float64 { return r.num("p") * resistances(r) * r.num("R3") },
		"air-12.1":         airTube,
		"air-12.1-short":   func(r dataRow) float64 { return airTube(r) * shortened(r) },
		"air-12.1-ultimate": func(r dataRow) float64 {
			s := must(EffectiveSpeed(units.VolumeFlow(r.num("S")), units.Conductance(airTube(r))))
			return r.num("Q") / float64(s)
		},
		"laminar-mbar": func(r dataRow) float64 { return laminar(r, units.Millibar) },
		"laminar-torr": func(r dataRow) float64 { return laminar(r, units.Torr) },
		"laminar-si": func(r dataRow) float64 {
			return float64(must(LaminarConductance(1, 1, units.Viscosity(r.num("mu")), 1)))
		},
		"air-knudsen": func(r dataRow) float64 {
			p := units.Pressure(r.num("p")) * units.Millibar
			return 1e3 * float64(must(AirConductance20C(r.length("d")*cm, r.length("L")*cm, p)))
		},
		"air-knudsen-over-molecular": func(r dataRow) float64 {
			p := units.Pressure(r.num("p")) * units.Millibar
			d, l := r.length("d")*cm, r.length("L")*cm
			return float64(must(AirConductance20C(d, l, p)) / must(AirConductance20C(d, l, 0)))
		},
		"knudsen-over-molecular": func(r dataRow) float64 {
			g := Nitrogen()
			m := newMixture([]Gas{g}, 293.15)
			p := units.Pressure(r.num("delta") * m.viscosity[0] * m.speed[0] / 0.005)
			return float64(must(KnudsenConductance(cm, 1, g, p, 293.15)) / must(KnudsenConductance(cm, 1, g, 0, 293.15)))
		},
		"reduced-flow":         func(r dataRow) float64 { return ReducedTubeFlow(r.num("delta")) },
		"critical-ratio":       func(r dataRow) float64 { return must(CriticalPressureRatio(r.num("gamma"))) },
		"critical-pressure":    func(r dataRow) float64 { return r.num("p") * must(CriticalPressureRatio(r.num("gamma"))) },
		"critical-temperature": func(r dataRow) float64 { return float64(must(CriticalTemperature(r.num("gamma"), r.kelvin()))) },
		"choked": func(r dataRow) float64 {
			if r.num("p2")/r.num("p1") <= must(CriticalPressureRatio(r.num("gamma"))) {
				return 1
			}
			return 0
		},
		"choked-volume-flux": func(r dataRow) float64 { return 0.1 * nozzle(r) * units.GasConstant * r.num("T") },
		"choked-mass-flux":   func(r dataRow) float64 { return nozzle(r) * float64(r.molarMass()) },
		"outflow-maximum":    func(r dataRow) float64 { return must(OutflowFunction(r.num("gamma"), 0)) },
		"speed-of-sound": func(r dataRow) float64 {
			return must(SpeedOfSound(r.gas("gas"), units.Fahrenheit(r.num("F")))) / 0.3048
		},
		"fanno-friction":    func(r dataRow) float64 { return must(FannoFriction(r.num("gamma"), r.num("mach"))) },
		"fanno-pressure":    func(r dataRow) float64 { return must(FannoPressure(r.num("gamma"), r.num("mach"))) },
		"fanno-temperature": func(r dataRow) float64 { return must(FannoTemperature(r.num("gamma"), r.num("mach"))) },
		"fanno-length": func(r dataRow) float64 {
			f := must(FannoFriction(r.num("gamma"), r.num("m1"))) - must(FannoFriction(r.num("gamma"), r.num("m2")))
			return f * r.num("D") / (4 * r.num("f"))
		},
		"hard-sphere-path": func(r dataRow) float64 {
			return 1e9 * float64(must(HardSphereMeanFreePath(units.Length(r.num("d")*1e-10), units.Pressure(r.num("p")), r.kelvin())))
		},
		"path-pressure": func(r dataRow) float64 {
			g := r.gas("gas")
			return float64(must(g.MeanFreePath(r.kelvin(), 1)))
		},
		"regime":     func(r dataRow) float64 { return float64(must(FlowRegime(units.Length(r.num("Kn")), 1))) },
		"molar-mass": func(r dataRow) float64 { return 1e3 * float64(r.gas("gas").MolarMass) },
		"viscosity":  func(r dataRow) float64 { return 1e6 * float64(r.gas("gas").ViscosityLaw(r.kelvin())) },
		"lennard-jones": func(r dataRow) float64 {
			law := ChapmanEnskog(r.molarMass(), units.Length(r.num("sigma")*1e-10), units.Temperature(r.num("eps")))
			return 1e6 * float64(law(r.kelvin()))
		},
		"diffusion": func(r dataRow) float64 {
			a, b := r.gas("a"), r.gas("b")
			return 1e4 * diffusionPressure(&a, &b, r.num("T")) / 101325
		},
		"fuller": func(r dataRow) float64 {
			a, b := r.gas("a"), r.gas("b")
			return 1e4 * fuller(&a, &b, r.num("T")) / 101325
		},
		"pulldown-speed": func(r dataRow) float64 { // V/S by Time with S = 1, so that S = Time/t
			p := pull(r.num("V"), 1, r.num("p1"), r.num("p2"))
			return pullTime(p.Time()) / r.num("t")
		},
		"pulldown": func(r dataRow) float64 {
			p := pull(1, 1, r.num("p1"), r.num("p2"))
			return pullTime(p.Time())
		},
		"pulldown-litres": func(r dataRow) float64 {
			p := pull(r.num("V")*1e-3, r.num("S")*1e-3/60, r.num("p1"), r.num("p2"))
			return pullTime(p.Time())
		},
		"tube-alone": func(r dataRow) float64 {
			return pullTime(LaminarTubeTime(units.Volume(r.num("V")), r.length("d"), r.length("L"),
				units.Viscosity(r.num("mu")), units.Pressure(r.num("p1")), units.Pressure(r.num("p2"))))
		},
		"tube-and-pump": func(r dataRow) float64 {
			p := pull(r.num("V"), r.num("S")*1e-3/60, r.num("p1"), r.num("p2"))
			return pullTime(p.TimeThroughTube(r.length("d"), r.length("L"), units.Viscosity(r.num("mu"))))
		},
		"ballast": func(r dataRow) float64 {
			mbar := func(k string) units.Pressure { return units.Pressure(r.num(k)) * units.Millibar }
			return float64(must(BallastTolerance(r.num("share"), mbar("pn"), mbar("ps"), mbar("pa"))) / units.Millibar)
		},
		"vapour-load":  vapourLoad,
		"vapour-speed": func(r dataRow) float64 { return 3600 * vapourLoad(r) / r.num("p") },
		"drying-volume": func(r dataRow) float64 {
			return pullTime(IsothermalDryingTime(units.Mass(r.num("m")*1e-3), 1, units.Pressure(r.num("p")), r.kelvin()))
		},
		"drying-time": func(r dataRow) float64 {
			return pullTime(IsothermalDryingTime(units.Mass(r.num("m")*1e-3), units.VolumeFlow(r.num("S")*1e-3), units.Pressure(r.num("p")), r.kelvin()))
		},
	}
}

// TestPublishedAndRecomputedRows holds every row of the two data files to its
// own tolerance.
func TestPublishedAndRecomputedRows(t *testing.T) {
	functions := rowFunctions()
	for _, more := range []map[string]func(dataRow) float64{valveRowFunctions(), mixingRowFunctions(), gaugeRowFunctions()} {
		maps.Copy(functions, more)
	}
	seen := map[string]bool{}
	for _, path := range []string{"published/vacuum.csv", "recomputed/vacuum.csv"} {
		for _, r := range readRows(t, path) {
			f, ok := functions[r.name]
			if !ok {
				t.Errorf("%s: no function for row %s", path, r.name)
				continue
			}
			seen[r.name] = true
			if got := f(r); !(math.Abs(got-r.value) <= r.tolerance*(1+1e-9)) {
				t.Errorf("%s %v: got %.9g, want %.9g within %.3g (%s)", r.name, r.in, got, r.value, r.tolerance, r.source)
			}
		}
	}
	for name := range functions {
		if !seen[name] {
			t.Errorf("no row uses %s", name)
		}
	}
}

// TestMisprintsAreNotFollowed keeps the code away from values that are wrong in
// print; each differs by more than its own last digit.
func TestMisprintsAreNotFollowed(t *testing.T) {
	tube, _ := EffectiveSpeed(50, 30)
	xe, _ := HardSphereMeanFreePath(4.78e-10, 1e5, 298.15)
	air := Air()
	air293, _ := air.MeanSpeed(293.15)
	sound, _ := SpeedOfSound(air, units.Fahrenheit(68))
	fanno, _ := FannoFriction(1.4, 0.25)
	inch, _ := MolecularConductance(units.Inch, units.Inch, air.MolarMass, 293.15)
	for _, m := range []struct {
		what                string
		got, printed, right float64
	}{
		{"VT handbook sec. 7.3.2: 471 m/s for air at 293 K, the value of nitrogen", air293, 471, 462.9},
		{"series speed from 1/30 = 0.033", float64(tube), 18.87, 18.75},
		{"inch form of the long tube, rounded", float64(inch) * 1e3, 75, 78.19},
		{"speed of sound of air at 68 °F in ft/s", sound / 0.3048, 1129, 1126.1},
		{"Murugaperumal Ex. 3.1, 4fL*/D at Mach 0.25", fanno, 8.537, 8.48341},
		{"CRC Handbook as transcribed, mean free path of Xe in nm", float64(xe) * 1e9, 4.05, 40.55},
	} {
		if math.Abs(m.got-m.right) > 3e-3*m.right || math.Abs(m.got-m.printed) < math.Abs(m.got-m.right) {
			t.Errorf("%s: got %g, print %g, true %g", m.what, m.got, m.printed, m.right)
		}
	}
}
