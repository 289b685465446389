package units_test

import (
	"encoding/json"
	"fmt"

	"example.com/drydown/units"
)

// A compound gauge cannot judge a deep vacuum: the last mark of its scale hides
// what decides. NIST SP 811 (2008), B.8: 1 inHg (conventional) = 3386.389 Pa.
func Example_compoundGauge() {
	ambient := 101325 * units.Pascal
	reading, err := units.ParsePressureReading("29.92 inHg vac")
	if err != nil {
		fmt.Println(err)
		return
	}
	p, err := reading.Absolute(ambient)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("29.92 inHg vac leaves %.0f micron\n", p.In(units.Micron))
	fmt.Printf("0.01 inHg is %.0f micron\n", (0.01 * units.InchHg).In(units.Micron))
	// Output:
	// 29.92 inHg vac leaves 32 micron
	// 0.01 inHg is 254 micron
}

// Quantities in a job file carry their units.
func Example_json() {
	var job struct {
		Volume  units.Volume
		Pump    units.VolumeFlow
		Target  units.Pressure
		Outside units.Temperature
		Hold    units.Duration
	}
	text := `{"volume":"8 L","pump":"6 CFM","target":"500 micron","outside":"21.5 °C","hold":"20 min"}`
	if err := json.Unmarshal([]byte(text), &job); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(job.Volume, job.Pump, job.Target, job.Outside, job.Hold)
	fmt.Println(json.Unmarshal([]byte(`{"target":"500 psi"}`), &job))
	// Output:
	// 8 L 10.19 m³/h 66.66 Pa 21.5 °C 20 min
	// units.ParsePressure: ambiguous unit: "500 psi": write psia for absolute pressure; psig needs a field that takes gauge pressure
}

// Gauge pressure becomes absolute only with an ambient pressure, here that of
// the standard atmosphere (ISO 2533: 79495.2 Pa at 2000 m).
func ExampleStandardAtmosphere() {
	ambient, err := units.StandardAtmosphere(2000 * units.Metre)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f Pa\n", float64(ambient))
	fmt.Printf("2 psig is %.2f psia there\n", (2 * units.PSIG).Absolute(ambient).In(units.PSIA))
	_, err = units.StandardAtmosphere(12 * 1000 * units.Metre)
	fmt.Println(err)
	// Output:
	// 79495.2 Pa
	// 2 psig is 13.53 psia there
	// units.StandardAtmosphere: altitude = 12000 m, accepted -5000 to 11000 m
}

// A standard volume of gas is an amount only with its reference temperature.
func ExampleParseMolarFlow() {
	normal, _ := units.ParseMolarFlow("10 NL/min")
	warm, _ := units.ParseMolarFlow("10 sL/min (20 °C)")
	fmt.Printf("%.5g and %.5g mmol/s\n", float64(normal)*1e3, float64(warm)*1e3)
	_, err := units.ParseMolarFlow("2 scfm")
	fmt.Println(err)
	// Output:
	// 7.4358 and 6.9285 mmol/s
	// units.ParseMolarFlow: ambiguous unit: "2 scfm": the reference temperature is missing; write scfm (60 °F) with the temperature that was meant, or NL/min for 0 °C and 101325 Pa
}

// Five grams of R-134a a year (M = 102.032 g/mol) as throughput at 20 °C.
func ExampleMassFlow_Throughput() {
	leak := 5 * units.GramPerYear
	q := leak.Throughput(102.032*units.GramPerMole, units.Celsius(20))
	fmt.Printf("%.4g Pa·m³/s\n", float64(q))
	// Output: 3.785e-06 Pa·m³/s
}

// A nominal size is no bore.
func ExampleNominalTube() {
	tube, err := units.ParseNominalTube("3/8 in nominal copper tube, annealed")
	fmt.Println(tube.InnerDiameter(), err)
	_, err = units.ParseNominalTube("3/8 in nominal copper tube")
	fmt.Println(err)
	// Output:
	// 7.899 mm <nil>
	// units.ParseNominalTube: ambiguous unit: "3/8 in nominal copper tube": more than one tube is meant; write 3/8 in nominal copper tube, annealed or 3/8 in nominal copper tube, drawn
}

func ExampleFormat() {
	s, _ := units.Format(500*units.Micron, "Torr", 3)
	fmt.Println(s)
	fmt.Println(units.Accepted[units.Temperature]())
	// Output:
	// 0.5 Torr
	// [K °C °F]
}

// Both units at once, for readers who think in micron.
func ExamplePressure_WithMicron() {
	fmt.Println((500 * units.Micron).WithMicron())
	fmt.Println(units.Atmosphere.WithMicron())
	// Output:
	// 66.66 Pa (500 micron)
	// 101.3 kPa
}
