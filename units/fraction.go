package units

// RelativeHumidity is the ratio of vapour pressure to saturation pressure as a
// fraction, valid 0 to 1. Below 0 °C it refers to ice. Its text needs the "%".
type RelativeHumidity float64

// MassFraction is a mass of one constituent per mass of the whole, valid 0 to
// 1. Its text needs "% by mass" or "mg/kg"; bare "ppm" is refused.
type MassFraction float64

// MoleFraction is an amount of one constituent per amount of the whole, valid
// 0 to 1. Its text needs "mol%" or "µmol/mol"; bare "ppm" is refused.
type MoleFraction float64

// Units of humidity and composition, exact by definition.
const (
	Percent              RelativeHumidity = 0.01
	MilligramPerKilogram MassFraction     = 1e-6
	MicromolePerMole     MoleFraction     = 1e-6
)

// In returns w in multiples of unit.
func (w MassFraction) In(unit MassFraction) float64 { return float64(w) / float64(unit) }

// In returns y in multiples of unit.
func (y MoleFraction) In(unit MoleFraction) float64 { return float64(y) / float64(unit) }

var relativeHumidityDefinition = definition{
	name: "RelativeHumidity", noun: "relative humidity", example: "60 %",
	lo: 0, hi: 1,
	units: []unit{
		{name: "%", factor: 1, per: 100, also: "~%RH|~% RH|~% rh|~percent|~% relative humidity", shift: -2},
	},
}

func (RelativeHumidity) definition() *definition { return &relativeHumidityDefinition }

// ParseRelativeHumidity reads text such as "60 %". A bare fraction is refused.
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseRelativeHumidity(text string) (RelativeHumidity, error) {
	return parse[RelativeHumidity](text)
}

// String returns h rounded to four digits, with its unit.
func (h RelativeHumidity) String() string { return text(h) }

// MarshalText writes h in percent so that it reads back to the same bits.
func (h RelativeHumidity) MarshalText() ([]byte, error) { return marshalText(h) }

// UnmarshalText reads what ParseRelativeHumidity reads.
func (h *RelativeHumidity) UnmarshalText(text []byte) error { return unmarshalText(h, text) }

// UnmarshalJSON reads a JSON string as ParseRelativeHumidity does; a bare number or null is
// refused.
func (h *RelativeHumidity) UnmarshalJSON(data []byte) error { return unmarshalJSON(h, data) }

var massFractionDefinition = definition{
	name: "MassFraction", noun: "mass fraction", example: "50 mg/kg",
	lo: 0, hi: 1,
	units: []unit{
		{name: "kg/kg", factor: 1, also: "g/g"},
		{name: "% by mass", factor: 1, per: 100, also: "~wt%|~mass%|~percent by mass|% w/w|% (by mass)"},
		{name: "g/kg", factor: 1, per: 1e3},
		{name: "mg/kg", factor: 1, per: 1e6, also: "~ppm by mass|~ppmw|µg/g"},
		{name: "µg/kg", factor: 1, per: 1e9},
	},
	shows: []show{{0, "mg/kg"}, {1e-2, "% by mass"}},
	refuses: []refusal{
		{"~ppm|~ppb", `by mass or by amount? write mg/kg or ppm by mass`, ErrAmbiguous},
		{"%|~percent", `by mass, by amount or relative humidity? write % by mass`, ErrAmbiguous},
	},
}

func (MassFraction) definition() *definition { return &massFractionDefinition }

// ParseMassFraction reads text such as "50 mg/kg".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseMassFraction(text string) (MassFraction, error) { return parse[MassFraction](text) }

// String returns w rounded to four digits, with its unit.
func (w MassFraction) String() string { return text(w) }

// MarshalText writes w in kg/kg so that it reads back to the same bits.
func (w MassFraction) MarshalText() ([]byte, error) { return marshalText(w) }

// UnmarshalText reads what ParseMassFraction reads.
func (w *MassFraction) UnmarshalText(text []byte) error { return unmarshalText(w, text) }

// UnmarshalJSON reads a JSON string as ParseMassFraction does; a bare number or null is
// refused.
func (w *MassFraction) UnmarshalJSON(data []byte) error { return unmarshalJSON(w, data) }

var moleFractionDefinition = definition{
	name: "MoleFraction", noun: "mole fraction", example: "20 µmol/mol",
	lo: 0, hi: 1,
	units: []unit{
		{name: "mol/mol", factor: 1},
		{name: "mol%", factor: 1, per: 100, also: "~mole%|~mol %|% by amount"},
		{name: "mmol/mol", factor: 1, per: 1e3},
		{name: "µmol/mol", factor: 1, per: 1e6},
		{name: "nmol/mol", factor: 1, per: 1e9},
	},
	shows: []show{{0, "µmol/mol"}, {1e-2, "mol%"}},
	refuses: []refusal{
		{"~ppm|~ppmv|~ppb|~ppm by volume", `by mass or by amount? write µmol/mol`, ErrAmbiguous},
		{"%|~percent|~vol%|% by volume", `by mass, by amount or relative humidity? write mol%`, ErrAmbiguous},
	},
}

func (MoleFraction) definition() *definition { return &moleFractionDefinition }

// ParseMoleFraction reads text such as "20 µmol/mol".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseMoleFraction(text string) (MoleFraction, error) { return parse[MoleFraction](text) }

// String returns y rounded to four digits, with its unit.
func (y MoleFraction) String() string { return text(y) }

// MarshalText writes y in mol/mol so that it reads back to the same bits.
func (y MoleFraction) MarshalText() ([]byte, error) { return marshalText(y) }

// UnmarshalText reads what ParseMoleFraction reads.
func (y *MoleFraction) UnmarshalText(text []byte) error { return unmarshalText(y, text) }

// UnmarshalJSON reads a JSON string as ParseMoleFraction does; a bare number or null is
// refused.
func (y *MoleFraction) UnmarshalJSON(data []byte) error { return unmarshalJSON(y, data) }
