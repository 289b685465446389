package units

import "math"

// Temperature is a thermodynamic temperature in K (ITS-90), valid above 0.
// Use Celsius and Fahrenheit to make one, Sub and Add to work with differences.
type Temperature float64

// TemperatureDiff is an interval of temperature in K.
type TemperatureDiff float64

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

var temperatureDefinition = definition{
	name: "Temperature", noun: "temperature", example: "21.5 °C",
	lo: math.SmallestNonzeroFloat64, hi: mostPositive,
	units: []unit{
		{name: "K", factor: 1, also: "~kelvin"},
		{name: "°C", factor: 1, also: "C|~degC|~deg C|~celsius|~degrees C", offset: 273.15},
		{name: "°F", factor: 1, per: 1.8, also: "F|~degF|~deg F|~fahrenheit|~degrees F", offset: 459.67},
	},
	shows: []show{{0, "°C"}},
	refuses: []refusal{
		{"°|deg|degrees|~degree", `write °C, °F or K`, ErrAmbiguous},
		{"R|°R", `R is told for degrees Rankine and degrees Réaumur; write K`, ErrAmbiguous},
	},
}

func (Temperature) definition() *definition { return &temperatureDefinition }

// ParseTemperature reads text such as "21.5 °C".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseTemperature(text string) (Temperature, error) { return parse[Temperature](text) }

// String returns t rounded to four digits, with its unit.
func (t Temperature) String() string { return text(t) }

// MarshalText writes t in K so that it reads back to the same bits.
func (t Temperature) MarshalText() ([]byte, error) { return marshalText(t) }

// UnmarshalText reads what ParseTemperature reads.
func (t *Temperature) UnmarshalText(text []byte) error { return unmarshalText(t, text) }

// UnmarshalJSON reads a JSON string as ParseTemperature does; a bare number or null is
// refused.
func (t *Temperature) UnmarshalJSON(data []byte) error { return unmarshalJSON(t, data) }

var temperatureDiffDefinition = definition{
	name: "TemperatureDiff", noun: "temperature difference", example: "5 K",
	lo: mostNegative, hi: mostPositive,
	units: []unit{
		{name: "K", factor: 1, also: "~kelvin|ΔK|K diff"},
		{name: "mK", factor: 1, per: 1e3},
		{name: "Δ°C", factor: 1, also: "ΔC|°C diff|C diff|~degC diff"},
		{name: "Δ°F", factor: 1, per: 1.8, also: "ΔF|°F diff|F diff|~degF diff"},
	},
	refuses: []refusal{
		{"°C|C|~degC|°F|F|~degF", `a temperature cannot stand for a difference; write K, Δ°C (or °C diff), Δ°F (or °F diff)`, ErrAmbiguous},
	},
}

func (TemperatureDiff) definition() *definition { return &temperatureDiffDefinition }

// ParseTemperatureDiff reads text such as "5 K". Degrees must be marked as a
// difference: "Δ°F" or "°F diff", because 9 °F as a temperature is 260.4 K and as
// a difference 5 K.
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseTemperatureDiff(text string) (TemperatureDiff, error) { return parse[TemperatureDiff](text) }

// String returns d rounded to four digits, with its unit.
func (d TemperatureDiff) String() string { return text(d) }

// MarshalText writes d in K so that it reads back to the same bits.
func (d TemperatureDiff) MarshalText() ([]byte, error) { return marshalText(d) }

// UnmarshalText reads what ParseTemperatureDiff reads.
func (d *TemperatureDiff) UnmarshalText(text []byte) error { return unmarshalText(d, text) }

// UnmarshalJSON reads a JSON string as ParseTemperatureDiff does; a bare number or null is
// refused.
func (d *TemperatureDiff) UnmarshalJSON(data []byte) error { return unmarshalJSON(d, data) }
