package moisture_test

import (
	"fmt"
	"time"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// IAPWS R7-97(2012), Table 35: saturation pressure at 300 K, 0.353658941e-2 MPa.
func ExampleSaturationPressureLiquid_r797Table35() {
	p, err := moisture.SaturationPressureLiquid(300)
	fmt.Printf("%.6f kPa %v\n", p.In(units.Kilopascal), err)
	// Output: 3.536589 kPa <nil>
}

// IAPWS R7-97(2012), Table 36: saturation temperature at 0.1 MPa, 0.372755919e3 K.
func ExampleSaturationTemperatureLiquid_r797Table36() {
	t, err := moisture.SaturationTemperatureLiquid(0.1 * units.Megapascal)
	fmt.Printf("%.3f K %v\n", float64(t), err)
	// Output: 372.756 K <nil>
}

// IAPWS R14-08(2011), Table 3: sublimation pressure at 230 K, 8.94735 Pa.
func ExampleSaturationPressureIce_r1408Table3() {
	p, err := moisture.SaturationPressureIce(230)
	fmt.Printf("%.5f Pa %v\n", float64(p), err)
	// Output: 8.94735 Pa <nil>
}

// IAPWS R14-08(2011), Table 3: melting pressure of ice Ih at 260 K, 138.268 MPa.
func ExampleMeltingPressure_r1408Table3() {
	p, err := moisture.MeltingPressure(260)
	fmt.Printf("%.3f MPa %v\n", p.In(units.Megapascal), err)
	// Output: 138.268 MPa <nil>
}

// SR1-86, J. Phys. Chem. Ref. Data 22 (1993) 783, Table 1: the triple point.
func ExampleSaturationSR186_table1() {
	s, err := moisture.SaturationSR186(moisture.TriplePoint)
	fmt.Printf("%.3f Pa, %.3f and %.8f kg/m³, %v\n",
		float64(s.Pressure), float64(s.LiquidDensity), float64(s.VapourDensity), err)
	// Output: 611.657 Pa, 999.789 and 0.00485426 kg/m³, <nil>
}

// IAPWS R10-06(2009), Table 6: ice at the triple point.
func ExampleIceProperties_r1006Table6() {
	s, err := moisture.IceProperties(273.16, 611.657)
	fmt.Printf("%.3f kg/m³, %.3f kJ/kg, %v\n", float64(s.Density), float64(s.Enthalpy)/1000, err)
	// Output: 916.709 kg/m³, -333.444 kJ/kg, <nil>
}

// IAPWS R6-95(2018), Table 7: 0.435 kg/m³ at 500 K and 0.0999679423 MPa.
func ExampleVapourProperties_r695Table7() {
	s, err := moisture.VapourProperties(500, 0.0999679423*units.Megapascal)
	fmt.Printf("%.4f kg/m³ %v\n", float64(s.Density), err)
	// Output: 0.4350 kg/m³ <nil>
}

// ASHRAE Handbook, Fundamentals 2017, ch. 1, Table 3: 401.74 Pa at -5 °C, over ice.
func ExampleSaturationPressure_ashraeTable3() {
	p, phase, err := moisture.SaturationPressure(units.Celsius(-5))
	fmt.Printf("%.2f Pa over %v %v\n", float64(p), phase, err)
	// Output: 401.74 Pa over ice <nil>
}

// 500 micron is the usual end of an evacuation: water there is ice at -24.5 °C
// (R14-08, recomputed).
func ExampleSaturationTemperature() {
	t, phase, err := moisture.SaturationTemperature(500 * units.Micron)
	fmt.Printf("%.1f °C over %v %v\n", t.Celsius(), phase, err)
	// Output: -24.5 °C over ice <nil>
}

// Out of range is an error that says what would have been accepted.
func ExampleSaturationPressureLiquid_outOfRange() {
	_, err := moisture.SaturationPressureLiquid(units.Celsius(-20))
	fmt.Println(err)
	// Output: moisture.SaturationPressureLiquid: t = 253.15 K, accepted 273.15 to 647.096 K
}

// Saturated-water table of Ohio University's thermodynamics course: 2441.7 kJ/kg at
// 25 °C, within the 0.1 kJ/kg that its rounding allows.
func ExampleLatentHeatVaporisation_steamTable() {
	l, err := moisture.LatentHeatVaporisation(units.Celsius(25))
	fmt.Printf("%.1f kJ/kg %v\n", float64(l)/1000, err)
	// Output: 2441.7 kJ/kg <nil>
}

// CRC Handbook, "Diffusion in gases": 0.242 cm²/s for water vapour in air at
// 293.15 K and 1 atm.
func ExampleDiffusivity_crcHandbook() {
	d, err := moisture.Diffusivity(293.15, 1*units.Atmosphere)
	fmt.Printf("%.3f cm²/s %v\n", float64(d)*1e4, err)
	// Output: 0.242 cm²/s <nil>
}

// Five grams of water in a tube at 25 °C under 10 kPa of nearly dry gas: the gas
// film holds the first vapour back.
func ExamplePuddle() {
	water := moisture.Puddle{Mass: 5 * units.Gram, Area: 20 * units.SquareCentimetre, HeatSupply: 0.5, Bore: 7.9 * units.Millimetre}
	at := moisture.Surroundings{Wall: units.Celsius(25), Vapour: 100, Dry: 9.9 * units.Kilopascal}
	state, rates := make([]float64, 2), make([]float64, 2)
	water.Start(state, at)
	release := water.Rates(rates, state, at)
	report := water.Report(state, at)
	fmt.Printf("%.1f mg/s, held back by %v\n", release*1e6, report.Governing)
	// Output: 6.3 mg/s, held back by gas film
}

// ASHRAE Handbook, Fundamentals 2017, ch. 1, Table 2: saturated air at 25 °C and
// 101325 Pa holds 0.020173 kg of water per kg of dry air; the equation with
// Hardy's enhancement factor lies 0.02 % below.
func ExampleHumidAir_HumidityRatio_ashraeTable2() {
	a, err := moisture.AirAtHumidity(units.Celsius(25), 101325, 1)
	fmt.Printf("%.4f kg/kg %v\n", a.HumidityRatio(), err)
	// Output: 0.0202 kg/kg <nil>
}

// ASHRAE Handbook, Fundamentals 2017, ch. 1, Example 1: air at 40 °C with 0.0065
// kg/kg has a relative humidity of 14 % and 0.896 m³ per kg of dry air.
func ExampleHumidAir_ashraeExample1() {
	a, err := moisture.AirAtRatio(units.Celsius(40), 101325, 0.0065)
	fmt.Printf("%.0f %%, %.3f m³/kg %v\n", float64(a.RelativeHumidity())*100, a.SpecificVolume(), err)
	// Output: 14 %, 0.896 m³/kg <nil>
}

// An eight-litre circuit that fills once with air of 25 °C and 60 % takes in a
// tenth of a gram of water (ideal gas, recomputed).
func ExampleHumidAir_WaterIn() {
	a, _ := moisture.AirAtHumidity(units.Celsius(25), 101325, 0.6)
	water, err := a.WaterIn(8 * units.Litre)
	fmt.Printf("%.0f mg %v\n", float64(water)*1e6, err)
	// Output: 111 mg <nil>
}

// Vapour with 10 mg/kg of water in R-410A (72.585 g/mol) at 8 bar: the frost point
// shows that ice can form at a cold expansion device (recomputed).
func ExampleResidualPoint() {
	x, _ := moisture.VapourFraction(10*units.MilligramPerKilogram, 0.072585)
	t, phase, err := moisture.ResidualPoint(x, 8*units.Bar)
	fmt.Printf("%.0f °C over %v %v\n", t.Celsius(), phase, err)
	// Output: -32 °C over ice <nil>
}

// Adiabatic freezing at the triple point: 333.4449/(2500.915 + 333.445) = 0.11764 of
// the water must evaporate to freeze the rest (energy balance, recomputed).
func ExampleAdiabaticFreezingFraction() {
	share, err := moisture.AdiabaticFreezingFraction(moisture.TriplePoint)
	fmt.Printf("%.4f %v\n", share, err)
	// Output: 0.1176 <nil>
}

// Water on metal at 25 °C that lets through half a watt per kelvin freezes once the
// pump's speed at the water exceeds 1.12 litres per second (energy balance, recomputed).
func ExampleFreezingSpeed() {
	s, err := moisture.FreezingSpeed(0.5, units.Celsius(25))
	fmt.Printf("%.2f L/s %v\n", float64(s)/float64(units.LitrePerSecond), err)
	// Output: 1.12 L/s <nil>
}

// ASHRAE Handbook, Refrigeration, ch. 6, Table 1: R-22 dissolves 308 mg/kg at 0 °F.
// R-134a's column is not confirmed, so there is no answer for it.
func ExampleWaterSolubility_ashraeTable1() {
	w, err := moisture.WaterSolubility(moisture.R22, units.Fahrenheit(0))
	fmt.Printf("%.0f mg/kg %v\n", float64(w)*1e6, err)
	_, err = moisture.WaterSolubility("R-134a", units.Fahrenheit(0))
	fmt.Println(err)
	// Output:
	// 308 mg/kg <nil>
	// moisture.WaterSolubility: water in "R-134a" (confirmed: "R-12", "R-22"): no data
}

// ANSI/AHRI 700-2006 with Addendum 1, Table 1B: 10 mg/kg for R-437A.
func ExampleWaterLimit_ahri700Table1B() {
	w, err := moisture.WaterLimit("R-437A")
	fmt.Printf("%.0f mg/kg %v\n", float64(w)*1e6, err)
	// Output: 10 mg/kg <nil>
}

// Two oils saturated at 20 °C show the vapour pressure of water, whatever they hold: 78
// or 358 mg/kg both make 2.3 kPa (IAPWS-95: 2339 Pa, recomputed).
func ExampleSaturationLaw_VapourPressure() {
	for _, content := range []units.MassFraction{78e-6, 358e-6} {
		law, _ := moisture.FitSaturation(
			moisture.SaturationPoint{Temperature: units.Celsius(20), Content: content},
			moisture.SaturationPoint{Temperature: units.Celsius(60), Content: 4 * content})
		p, err := law.VapourPressure(content, units.Celsius(20))
		fmt.Printf("%.1f kPa %v\n", p.In(units.Kilopascal), err)
	}
	// Output:
	// 2.3 kPa <nil>
	// 2.3 kPa <nil>
}

// Oil in a small isolated circuit answers much faster than its exchange time: the gas
// holds little water.
func ExampleOil_Rise() {
	law, _ := moisture.FitSaturation( // invented, of the order of an ester oil
		moisture.SaturationPoint{Temperature: units.Celsius(20), Content: 1500e-6},
		moisture.SaturationPoint{Temperature: units.Celsius(60), Content: 3000e-6})
	oil := moisture.Oil{Mass: 0.5, WaterContent: 50e-6, Law: law, Exchange: time.Hour}
	rise, err := oil.Rise(8*units.Litre, units.Celsius(20), 66)
	fmt.Printf("to %.0f Pa, time constant %.0f min %v\n", float64(rise.Final), rise.TimeConstant.Minutes(), err)
	// Output: to 76 Pa, time constant 9 min <nil>
}

// Rule of the vacuum-technology handbook, formula 1-32: metal outgasses
// as 1/t. Steel with 3e-6 Pa m³/(s m²) after one hour (from memory) gives a tenth of it
// after ten.
func ExampleOutgassing_Throughput() {
	steel := moisture.Outgassing{Law: moisture.Metal, AfterOneHour: 3e-6, Area: 2}
	q, err := steel.Throughput(10 * time.Hour)
	fmt.Printf("%.1e Pa m³/s %v\n", float64(q), err)
	// Output: 6.0e-07 Pa m³/s <nil>
}

// Ten milligrams of water, most of it in the oil, against a limit of 10 mg/kg for a
// charge of 1.2 kg.
func ExampleDryness_Against() {
	d, _ := moisture.DrynessOf([]moisture.StoredWater{
		{Name: "low spot", Content: moisture.Content{Liquid: 1 * units.Milligram}},
		{Name: "oil", Content: moisture.Content{Dissolved: 9 * units.Milligram}},
	}, 0, 1.2)
	j, err := d.Against(10 * units.MilligramPerKilogram)
	fmt.Printf("%.1f mg/kg, within the limit: %v %v\n", float64(d.PerCharge)*1e6, j.Within, err)
	// Output: 8.3 mg/kg, within the limit: true <nil>
}

// IAPWS R15-11(2011), Table 4: 18.4341883 mW/(m K) at 298.15 K and zero density.
func ExampleVapourConductivity_r1511Table4() {
	k, err := moisture.VapourConductivity(298.15)
	fmt.Printf("%.4f mW/(m K) %v\n", float64(k)*1000, err)
	// Output: 18.4342 mW/(m K) <nil>
}

// One gram of water vapour at 1 mbar and 20 °C fills 1.3530 m³ (ideal gas,
// recomputed; "1 g is about 1.35 m³" is a rule of vacuum technology).
func ExampleVapourProperties_oneGram() {
	s, err := moisture.VapourProperties(units.Celsius(20), 1*units.Millibar)
	fmt.Printf("%.3f m³ %v\n", 1e-3/float64(s.Density), err)
	// Output: 1.353 m³ <nil>
}

// With ample heat the drying plateau meets its isothermal bound m R T/(M S ps): 10 g
// at 20 °C and 1 L/s last 578 s (recomputed); with half a watt per kelvin it freezes
// and takes three quarters of an hour.
func ExampleDryingPlateau_isothermalBound() {
	for _, supply := range []units.HeatConductance{1e6, 0.5} {
		p, _ := moisture.DryingPlateau(supply, 1*units.LitrePerSecond, units.Celsius(20))
		last, err := p.Time(10 * units.Gram)
		fmt.Printf("%v at %.1f °C, %.0f s %v\n", p.Phase, p.Temperature.Celsius(), last.Seconds(), err)
	}
	// Output:
	// liquid at 20.0 °C, 578 s <nil>
	// ice at -1.9 °C, 2590 s <nil>
}

// A correlation is a value for hot loops: no check, no allocation.
func ExampleCorrelation() {
	c := moisture.IcePressureR1408()
	lo, hi := c.Range()
	fmt.Printf("%.5f Pa; %s; %.0f to %.2f K\n", c.Eval(230), c.Source(), lo, hi)
	// Output: 8.94735 Pa; IAPWS R14-08(2011), eq 6 and Table 2; 50 to 273.16 K
}

// At 1500 m the same open port takes water in faster than at sea level: vapour
// diffuses more easily through thin air (recomputed).
func ExamplePort_IntakeRate() {
	port := moisture.Port{Bore: 7.9 * units.Millimetre, Length: 0.3}
	for _, altitude := range []units.Length{0, 1500} {
		p, _ := units.StandardAtmosphere(altitude)
		a, _ := moisture.AirAtHumidity(units.Celsius(25), p, 0.6)
		rate, err := port.IntakeRate(a, 0)
		fmt.Printf("%.1f mg/day %v\n", float64(rate)*1e6*86400, err)
	}
	// Output:
	// 4.8 mg/day <nil>
	// 5.8 mg/day <nil>
}

// IAPWS R6-95(2018), Table 8: saturated vapour at 275 K, 0.00550664919 kg/m³, and
// 2504.28995 - 7.75972202 kJ/kg to evaporate.
func ExampleSaturatedVapourDensity_r695Table8() {
	rho, err := moisture.SaturatedVapourDensity(275)
	fmt.Printf("%.5f g/m³ %v\n", float64(rho)*1000, err)
	l, err := moisture.LatentHeatVaporisation(275)
	fmt.Printf("%.1f kJ/kg %v\n", float64(l)/1000, err)
	// Output:
	// 5.50667 g/m³ <nil>
	// 2496.5 kJ/kg <nil>
}

// IAPWS R12-08(2008), Table 4: 32.619287 µPa s at 873.15 K and 1 kg/m³; the limit of
// zero density lies 0.05 % below.
func ExampleVapourViscosity_r1208Table4() {
	mu, err := moisture.VapourViscosity(873.15)
	fmt.Printf("%.2f µPa s %v\n", float64(mu)*1e6, err)
	// Output: 32.60 µPa s <nil>
}

// B. Hardy 1998: air at 25 °C and 101325 Pa raises the saturation pressure by 0.41 %
// (1.004109, recomputed); near the saturation pressure hardly anything is left of it.
func ExampleEnhancementFactor_hardy1998() {
	for _, p := range []units.Pressure{101325, 3500} {
		f, err := moisture.EnhancementFactor(units.Celsius(25), p)
		fmt.Printf("%.5f %v\n", f, err)
	}
	// Output:
	// 1.00411 <nil>
	// 1.00014 <nil>
}

// R. W. Hyland and A. Wexler 1983, ASHRAE Handbook, Fundamentals 2017, ch. 1, eq 6:
// 3169.216 Pa at 25 °C; R7-97, which the handbook's own Table 3 follows, lies 0.017 %
// above.
func ExampleLiquidPressureR797_hylandWexler() {
	p := moisture.LiquidPressureR797().Eval(298.15)
	fmt.Printf("%.1f Pa, %.3f %% above\n", p, (p/3169.216-1)*100)
	// Output: 3169.7 Pa, 0.017 % above
}
