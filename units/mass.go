package units

// Mass is a mass in kg, valid from 0 up as text; differences may be negative.
type Mass float64

// MassFlow is a mass per time in kg/s.
type MassFlow float64

// Density is a mass per volume in kg/m³, valid from 0 up.
type Density float64

// Units of mass and mass flow, exact by definition.
const (
	Kilogram  Mass = 1
	Gram      Mass = 1e-3
	Milligram Mass = 1e-6
	Pound     Mass = 0.45359237
	OunceAvdp Mass = Pound / 16
	Grain     Mass = 0.00006479891
	// GramPerYear counts 365.25 days of 86400 s to the year.
	GramPerYear = MassFlow(1e-3 / (365.25 * 86400))
)

// In returns m in multiples of unit.
func (m Mass) In(unit Mass) float64 { return float64(m) / float64(unit) }

// In returns f in multiples of unit.
func (f MassFlow) In(unit MassFlow) float64 { return float64(f) / float64(unit) }

var massDefinition = definition{
	name: "Mass", noun: "mass", example: "5 g",
	lo: 0, hi: mostPositive,
	units: []unit{
		{name: "kg", factor: 1, also: "~kilogram|~kilograms"},
		{name: "g", factor: 1, per: 1e3, also: "~gram|~grams"},
		{name: "mg", factor: 1, per: 1e6, also: "~milligram|~milligrams"},
		{name: "µg", factor: 1, per: 1e9},
		{name: "lb", factor: 45359237, per: 1e8, also: "~lb|~lbs|~pound|~pounds"},
		{name: "oz avdp", factor: 45359237, per: 16e8, also: "~oz av|~avoirdupois ounce|~avoirdupois ounces"},
		{name: "grain", factor: 6479891, per: 1e11, also: "~grains"},
	},
	shows: []show{{0, "µg"}, {1e-6, "mg"}, {1e-3, "g"}, {1, "kg"}},
	refuses: []refusal{
		{"~oz|~ounce|~ounces", `write oz avdp for a mass of 28.35 g; a fluid ounce is a volume`, ErrAmbiguous},
		{"~gr", `write g for gram or grain for 64.8 mg`, ErrAmbiguous},
		{"~ton|~tons|t|~tonne", `long, short and metric tons differ; write kg`, ErrAmbiguous},
		{"mcg", `write µg`, ErrAmbiguous},
	},
}

func (Mass) definition() *definition { return &massDefinition }

// ParseMass reads text such as "5 g".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseMass(text string) (Mass, error) { return parse[Mass](text) }

// String returns m rounded to four digits, with its unit.
func (m Mass) String() string { return text(m) }

// MarshalText writes m in kg so that it reads back to the same bits.
func (m Mass) MarshalText() ([]byte, error) { return marshalText(m) }

// UnmarshalText reads what ParseMass reads.
func (m *Mass) UnmarshalText(text []byte) error { return unmarshalText(m, text) }

// UnmarshalJSON reads a JSON string as ParseMass does; a bare number or null is
// refused.
func (m *Mass) UnmarshalJSON(data []byte) error { return unmarshalJSON(m, data) }

var massFlowDefinition = definition{
	name: "MassFlow", noun: "mass flow", example: "5 g/year",
	lo: mostNegative, hi: mostPositive,
	units: []unit{
		{name: "kg/s", factor: 1},
		{name: "kg/h", factor: 1, per: 3600, also: "kg/hr"},
		{name: "kg/day", factor: 1, per: 86400, also: "kg/d"},
		{name: "g/s", factor: 1, per: 1e3},
		{name: "g/min", factor: 1, per: 60e3},
		{name: "g/h", factor: 1, per: 3600e3, also: "g/hr"},
		{name: "g/day", factor: 1, per: 86400e3, also: "g/d"},
		{name: "g/year", factor: 1, per: 31557600e3, also: "g/yr|g/a|g per year"},
		{name: "mg/s", factor: 1, per: 1e6},
		{name: "mg/min", factor: 1, per: 60e6},
		{name: "mg/h", factor: 1, per: 3600e6, also: "mg/hr"},
		{name: "lb/h", factor: 45359237, per: 3600e8, also: "lb/hr|lbs/h"},
		{name: "oz avdp/year", factor: 45359237, per: 16e8 * 31557600, also: "oz avdp/yr|oz av/year"},
	},
	shows: []show{{0, "g/year"}, {1e-9, "mg/h"}, {1e-6, "g/h"}, {1e-3, "kg/h"}},
	refuses: []refusal{
		{"~oz/year|~oz/yr|~oz/h|~oz/min", `write oz avdp/year, or grams`, ErrAmbiguous},
	},
}

func (MassFlow) definition() *definition { return &massFlowDefinition }

// ParseMassFlow reads text such as "5 g/year". A year is 365.25 days.
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseMassFlow(text string) (MassFlow, error) { return parse[MassFlow](text) }

// String returns f rounded to four digits, with its unit.
func (f MassFlow) String() string { return text(f) }

// MarshalText writes f in kg/s so that it reads back to the same bits.
func (f MassFlow) MarshalText() ([]byte, error) { return marshalText(f) }

// UnmarshalText reads what ParseMassFlow reads.
func (f *MassFlow) UnmarshalText(text []byte) error { return unmarshalText(f, text) }

// UnmarshalJSON reads a JSON string as ParseMassFlow does; a bare number or null is
// refused.
func (f *MassFlow) UnmarshalJSON(data []byte) error { return unmarshalJSON(f, data) }

var densityDefinition = definition{
	name: "Density", noun: "density", example: "917 kg/m³",
	lo: 0, hi: mostPositive,
	units: []unit{
		{name: "kg/m³", factor: 1},
		{name: "g/m³", factor: 1, per: 1e3},
		{name: "g/L", factor: 1, also: "g/l"},
		{name: "kg/L", factor: 1e3, also: "kg/l"},
		{name: "g/cm³", factor: 1e3, also: "g/mL|g/ml|g/cc"},
		{name: "lb/ft³", factor: 0.45359237, per: float64(CubicFoot)},
	},
}

func (Density) definition() *definition { return &densityDefinition }

// ParseDensity reads text such as "917 kg/m³".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseDensity(text string) (Density, error) { return parse[Density](text) }

// String returns d rounded to four digits, with its unit.
func (d Density) String() string { return text(d) }

// MarshalText writes d in kg/m³ so that it reads back to the same bits.
func (d Density) MarshalText() ([]byte, error) { return marshalText(d) }

// UnmarshalText reads what ParseDensity reads.
func (d *Density) UnmarshalText(text []byte) error { return unmarshalText(d, text) }

// UnmarshalJSON reads a JSON string as ParseDensity does; a bare number or null is
// refused.
func (d *Density) UnmarshalJSON(data []byte) error { return unmarshalJSON(d, data) }
