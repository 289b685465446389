// Package units holds the quantities in which the rest of the library speaks:
// one defined float64 type for each kind of quantity, always in coherent SI,
// with text that carries its unit.
//
//	p := 500 * units.Micron                       // 66.66 Pa, a constant
//	v, err := units.ParseVolume("8 L")            // 0.008 m³
//	g := units.InHgVacuum(28.5)                   // gauge: needs an ambient pressure
//	abs := g.Absolute(101325 * units.Pascal)      // now a Pressure
//	fmt.Println(abs.In(units.Torr))
//
// # Kinds, not dimensions
//
// Two quantities with the same dimension are two types when mixing them up would
// be a mistake. Pressure is absolute and GaugePressure is relative to ambient;
// the only way from one to the other takes the ambient pressure as an argument,
// and none is assumed. VolumeFlow and Conductance are both m³/s. Throughput is
// pressure times volume per time and becomes an amount (MolarFlow) or a mass
// (MassFlow) only together with a temperature. Temperature and TemperatureDiff
// are apart because 9 °F is 260.4 K as one and 5 K as the other.
//
// PressureReading holds what somebody read, absolute or gauge, until the ambient
// pressure is known; StandardAtmosphere supplies one from the altitude.
// ReferenceState says at which temperature and pressure a "standard" volume of
// gas was counted. NominalTube keeps nominal sizes apart from bores. Duration is
// a time.Duration with text.
//
// # Text
//
// Every type parses, prints and marshals with its unit, so JSON and flag.TextVar
// read "500 micron". A bare number is refused, and so are null, infinities, NaN,
// hexadecimal numbers, digit separators and the decimal comma. "µ" and "u", "²",
// "2" and "^2", "·" and "*", "L" and "l" are the same. MarshalText writes SI with
// the fewest digits that read back to the same bits; String rounds to four
// digits; Format takes a unit. Accepted lists the units.
//
// A unit with two meanings is refused with ErrAmbiguous and a list of what to
// write: "psi" and "inHg" (absolute or gauge), "mb", "oz" and "gal", "ton",
// "ppm", "%" of a composition, "scfm" without its temperature. What is no unit at
// all is ErrSyntax, a value outside the range of its type a RangeError.
//
// # Exactness
//
// Exact by definition are the conversions of pascal, bar, atmosphere, torr,
// micron, psi, inch, foot, pound, US gallon and the litre. Conventional, that is
// fixed by agreement on a density of mercury, are mmHg and inHg; a year in
// "g/year" is 365.25 days. One micron is 101325/760000 Pa, one thousandth of a
// torr; the micron of mercury from the conventional mmHg is 1.4e-7 larger, and
// the one of UCUM (um[Hg]) 2.8e-6 smaller. Measurement error is far above
// either.
//
// Holding a value as float64 costs up to 1.1e-16 of it, a conversion in or out
// the same once or twice more. The ideal-gas conversions add their own model
// error: for water vapour at 25 °C and 1000 Pa 0.05 %, for nitrogen at ambient
// pressure less than 0.1 %.
//
// # Known weakness
//
// An untyped constant converts silently: f(500) compiles as 500 Pa, and so does
// p*p as a Pressure. Always write the unit: f(500*units.Micron).
//
// # Sources
//
// NIST SP 811 (2008), appendix B, for conversions; the SI brochure, 9th edition,
// for R; ISO 2533:1975 for the atmosphere; ASTM B280 for tube sizes.
//
// All values are plain data and safe for concurrent use; nothing here is changed
// after the program starts. The package imports only the standard library.
// Start with Pressure, then PressureReading and Temperature.
package units
