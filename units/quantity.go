package units

import "math"

// Pressure is an absolute pressure in Pa, valid from 0 up. Zero is a perfect
// vacuum.
type Pressure float64

// GaugePressure is a pressure above the ambient in Pa; negative below ambient.
// It becomes a Pressure only together with an ambient pressure (Absolute).
type GaugePressure float64

// PressureRate is a change of pressure with time in Pa/s.
type PressureRate float64

// Temperature is a thermodynamic temperature in K (ITS-90), valid above 0.
// Use Celsius and Fahrenheit to make one, Sub and Add to work with differences.
type Temperature float64

// TemperatureDiff is an interval of temperature in K.
type TemperatureDiff float64

// Length is a length in m. Bores are inner diameters.
type Length float64

// Area is an area in m².
type Area float64

// Volume is a volume in m³.
type Volume float64

// VolumeFlow is a volume per time in m³/s at the state named by its field, for
// a pump the state at its inlet.
type VolumeFlow float64

// Conductance is the conductance of a gas path in m³/s: throughput divided by
// the pressure difference that drives it.
type Conductance float64

// Throughput is a flow of gas as pressure times volume per time, Pa·m³/s. It is
// an amount of gas only together with a temperature (MolarFlow).
type Throughput float64

// Mass is a mass in kg.
type Mass float64

// MassFlow is a mass per time in kg/s.
type MassFlow float64

// Amount is an amount of substance in mol.
type Amount float64

// MolarFlow is an amount of substance per time in mol/s.
type MolarFlow float64

// MolarMass is the mass of one mole in kg/mol.
type MolarMass float64

// Energy is an energy in J.
type Energy float64

// SpecificEnergy is an energy per mass in J/kg.
type SpecificEnergy float64

// Power is a power in W.
type Power float64

// HeatConductance is heat flow per temperature difference, the UA of a heat
// path, in W/K.
type HeatConductance float64

// Conductivity is a thermal conductivity in W/(m·K).
type Conductivity float64

// Diffusivity is a diffusion coefficient in m²/s.
type Diffusivity float64

// Viscosity is a dynamic viscosity in Pa·s.
type Viscosity float64

// Density is a mass per volume in kg/m³.
type Density float64

// RelativeHumidity is the ratio of vapour pressure to saturation pressure as a
// fraction, valid 0 to 1. Below 0 °C it refers to ice. Its text needs the "%".
type RelativeHumidity float64

// MassFraction is a mass of one constituent per mass of the whole, valid 0 to
// 1. Its text needs "%" by mass or "mg/kg"; bare "ppm" is refused.
type MassFraction float64

// MoleFraction is an amount of one constituent per amount of the whole, valid
// 0 to 1. Its text needs "mol%" or "µmol/mol"; bare "ppm" is refused.
type MoleFraction float64

// GasConstant is the molar gas constant R in J/(mol·K), exact since the 2019
// revision of the SI: k·N_A = 1.380649e-23 × 6.02214076e23.
const GasConstant = 8.31446261815324

// Units of pressure. The conversions are exact by definition.
const (
	Pascal     Pressure = 1
	Kilopascal Pressure = 1e3
	Megapascal Pressure = 1e6
	Millibar   Pressure = 100
	Bar        Pressure = 1e5
	Atmosphere Pressure = 101325
	Torr       Pressure = 101325.0 / 760
	// Micron is one thousandth of a torr, the only definition used here. A
	// conventional micron of mercury, MillimetreHg/1000, is 1.4e-7 larger.
	Micron Pressure = 101325.0 / 760000
	// MillimetreHg is the conventional millimetre of mercury of NIST SP 811,
	// density 13595.1 kg/m³ and standard gravity.
	MillimetreHg Pressure = 13595.1 * 9.80665 / 1000
	// InchHg is 25.4 conventional millimetres of mercury, absolute. There is no
	// bare inch of mercury for a reading below atmosphere: see InHgVacuum.
	InchHg Pressure = 25.4 * MillimetreHg
	// PSIA is the pound-force per square inch, absolute.
	PSIA Pressure = 0.45359237 * 9.80665 / (0.0254 * 0.0254)
	// PSIG is the pound-force per square inch above ambient.
	PSIG GaugePressure = GaugePressure(PSIA)
	// BarGauge is the bar above ambient.
	BarGauge GaugePressure = 1e5
	// KilopascalGauge is the kilopascal above ambient.
	KilopascalGauge GaugePressure = 1e3
)

// Units of length, area, volume and flow.
const (
	Metre      Length = 1
	Centimetre Length = 1e-2
	Millimetre Length = 1e-3
	Micrometre Length = 1e-6
	Inch       Length = 0.0254
	Foot       Length = 0.3048

	SquareMetre      Area = 1
	SquareCentimetre Area = 1e-4
	SquareMillimetre Area = 1e-6

	CubicMetre      Volume = 1
	Litre           Volume = 1e-3
	Millilitre      Volume = 1e-6
	CubicCentimetre Volume = 1e-6
	CubicFoot       Volume = 0.3048 * 0.3048 * 0.3048
	USGallon        Volume = 231 * 0.0254 * 0.0254 * 0.0254

	CubicMetrePerSecond VolumeFlow = 1
	CubicMetrePerHour   VolumeFlow = 1.0 / 3600
	LitrePerSecond      VolumeFlow = 1e-3
	LitrePerMinute      VolumeFlow = 1e-3 / 60
	// CFM is the cubic foot per minute.
	CFM VolumeFlow = VolumeFlow(CubicFoot) / 60

	PascalCubicMetrePerSecond Throughput = 1
	MillibarLitrePerSecond    Throughput = 0.1
	TorrLitrePerSecond        Throughput = Throughput(Torr) * 1e-3
	MicronLitrePerSecond      Throughput = Throughput(Micron) * 1e-3
	AtmCubicCentimetrePerSec  Throughput = 0.101325
)

// Units of mass, amount, heat and the rest.
const (
	Kilogram    Mass = 1
	Gram        Mass = 1e-3
	Milligram   Mass = 1e-6
	Pound       Mass = 0.45359237
	OunceAvdp   Mass = Pound / 16
	Grain       Mass = 0.00006479891
	GramPerYear      = MassFlow(1e-3 / (365.25 * 86400))

	Mole Amount = 1

	Watt                 Power           = 1
	WattPerKelvin        HeatConductance = 1
	Joule                Energy          = 1
	KilojoulePerKilogram SpecificEnergy  = 1e3

	Percent              RelativeHumidity = 0.01
	MilligramPerKilogram MassFraction     = 1e-6
)

// Celsius returns the temperature of deg degrees Celsius.
func Celsius(deg float64) Temperature { return Temperature(deg + 273.15) }

// Fahrenheit returns the temperature of deg degrees Fahrenheit.
func Fahrenheit(deg float64) Temperature { return Temperature((deg + 459.67) / 1.8) }

// Celsius returns t in degrees Celsius.
func (t Temperature) Celsius() float64 { return float64(t) - 273.15 }

// Fahrenheit returns t in degrees Fahrenheit.
func (t Temperature) Fahrenheit() float64 { return float64(t)*1.8 - 459.67 }

// Sub returns the difference t - from.
func (t Temperature) Sub(from Temperature) TemperatureDiff { return TemperatureDiff(t - from) }

// Add returns t raised by d.
func (t Temperature) Add(d TemperatureDiff) Temperature { return t + Temperature(d) }

// InHgVacuum returns the gauge pressure that lies depth inches of mercury below
// ambient; depth is positive for a vacuum.
func InHgVacuum(depth float64) GaugePressure { return GaugePressure(-depth * float64(InchHg)) }

// In returns p in multiples of unit, as in p.In(units.Micron).
func (p Pressure) In(unit Pressure) float64 { return float64(p) / float64(unit) }

// In returns g in multiples of unit.
func (g GaugePressure) In(unit GaugePressure) float64 { return float64(g) / float64(unit) }

// Absolute returns the absolute pressure of the gauge pressure g at the given
// ambient pressure. It can come out negative when g lies below the vacuum; the
// caller's range check refuses that.
func (g GaugePressure) Absolute(ambient Pressure) Pressure { return Pressure(g) + ambient }

// Gauge returns p as a pressure above ambient.
func (p Pressure) Gauge(ambient Pressure) GaugePressure { return GaugePressure(p - ambient) }

// Throughput returns C (up - down), the flow that conductance c passes between
// the two pressures.
func (c Conductance) Throughput(up, down Pressure) Throughput {
	return Throughput(float64(c) * float64(up-down))
}

// MolarFlow returns the amount of ideal gas per time, Q/(R T), that throughput
// q carries at temperature t.
func (q Throughput) MolarFlow(t Temperature) MolarFlow {
	return MolarFlow(float64(q) / (GasConstant * float64(t)))
}

// Throughput returns n R T, the flow n as pressure times volume at temperature t.
func (n MolarFlow) Throughput(t Temperature) Throughput {
	return Throughput(float64(n) * GasConstant * float64(t))
}

// Circle returns the area of a circle of diameter d.
func (d Length) Circle() Area { return Area(math.Pi / 4 * float64(d) * float64(d)) }
