package units

import "math"

// Amount is an amount of substance in mol, valid from 0 up as text; differences
// may be negative.
type Amount float64

// MolarFlow is an amount of substance per time in mol/s.
type MolarFlow float64

// MolarMass is the mass of one mole in kg/mol, valid above 0.
type MolarMass float64

// Units of amount.
const (
	Mole Amount = 1
	// GramPerMole is the usual unit of molar mass.
	GramPerMole MolarMass = 1e-3
)

// In returns n in multiples of unit.
func (n Amount) In(unit Amount) float64 { return float64(n) / float64(unit) }

var amountDefinition = definition{
	name: "Amount", noun: "amount", example: "10 NL",
	lo: 0, hi: mostPositive,
	units: []unit{
		{name: "mol", factor: 1, also: "~mole|~moles"},
		{name: "mmol", factor: 1, per: 1e3},
		{name: "µmol", factor: 1, per: 1e6},
		{name: "nmol", factor: 1, per: 1e9},
		{name: "kmol", factor: 1e3},
	},
	shows: []show{{0, "µmol"}, {1e-3, "mmol"}, {1, "mol"}},
	gas:   referenceVolumes,
	refuses: []refusal{
		{"L|l|m3|mL|ml|cm3|cc|ft3|~cu ft", `the temperature and pressure of the gas are missing; write NL for 0 °C and 101325 Pa, or for instance sL (20 °C)`, ErrAmbiguous},
	},
}

func (Amount) definition() *definition { return &amountDefinition }

// ParseAmount reads text such as "10 NL". Gas counted as a volume must carry its
// reference state: "10 NL" and "1 Nm³" are at 0 °C and 101325 Pa, "3 scf (60 °F)"
// and "2 sL (20 °C)" at the stated temperature and 101325 Pa, "3 scf (60 °F,
// 14.73 psia)" at both as stated. "scf" alone is refused.
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseAmount(text string) (Amount, error) { return parse[Amount](text) }

// String returns n rounded to four digits, with its unit.
func (n Amount) String() string { return text(n) }

// MarshalText writes n in mol so that it reads back to the same bits.
func (n Amount) MarshalText() ([]byte, error) { return marshalText(n) }

// UnmarshalText reads what ParseAmount reads.
func (n *Amount) UnmarshalText(text []byte) error { return unmarshalText(n, text) }

// UnmarshalJSON reads a JSON string as ParseAmount does; a bare number or null is
// refused.
func (n *Amount) UnmarshalJSON(data []byte) error { return unmarshalJSON(n, data) }

var molarFlowDefinition = definition{
	name: "MolarFlow", noun: "molar flow", example: "10 NL/min",
	lo: mostNegative, hi: mostPositive,
	units: []unit{
		{name: "mol/s", factor: 1},
		{name: "mol/min", factor: 1, per: 60},
		{name: "mol/h", factor: 1, per: 3600},
		{name: "mmol/s", factor: 1, per: 1e3},
		{name: "mmol/min", factor: 1, per: 60e3},
		{name: "µmol/s", factor: 1, per: 1e6},
		{name: "kmol/h", factor: 1e3, per: 3600},
	},
	shows: []show{{0, "µmol/s"}, {1e-3, "mmol/s"}, {1, "mol/s"}},
	gas:   referenceFlows,
	refuses: []refusal{
		{
			"L/s|l/s|L/min|l/min|~lpm|L/h|l/h|mL/s|ml/s|mL/min|ml/min|cm3/s|cc/s|cm3/min|cc/min|m3/s|m3/min|m3/h|~cfm|ft3/min|~cfh|ft3/h",
			`the temperature and pressure of the gas are missing; write NL/min for 0 °C and 101325 Pa, or for instance sL/min (20 °C)`, ErrAmbiguous,
		},
	},
}

func (MolarFlow) definition() *definition { return &molarFlowDefinition }

// ParseMolarFlow reads text such as "10 NL/min". Gas counted as a volume must
// carry its reference state: "10 NL/min" and "1 Nm³/h" are at 0 °C and 101325 Pa,
// "2 scfm (70 °F)", "5 sL/min (20 °C)" and "1 sccm (0 °C)" at the stated
// temperature and 101325 Pa, "2 scfm (60 °F, 14.73 psia)" at both as stated.
// "scfm" alone is refused.
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseMolarFlow(text string) (MolarFlow, error) { return parse[MolarFlow](text) }

// String returns n rounded to four digits, with its unit.
func (n MolarFlow) String() string { return text(n) }

// MarshalText writes n in mol/s so that it reads back to the same bits.
func (n MolarFlow) MarshalText() ([]byte, error) { return marshalText(n) }

// UnmarshalText reads what ParseMolarFlow reads.
func (n *MolarFlow) UnmarshalText(text []byte) error { return unmarshalText(n, text) }

// UnmarshalJSON reads a JSON string as ParseMolarFlow does; a bare number or null is
// refused.
func (n *MolarFlow) UnmarshalJSON(data []byte) error { return unmarshalJSON(n, data) }

var molarMassDefinition = definition{
	name: "MolarMass", noun: "molar mass", example: "28.0134 g/mol",
	lo: math.SmallestNonzeroFloat64, hi: mostPositive,
	units: []unit{
		{name: "kg/mol", factor: 1},
		{name: "g/mol", factor: 1, per: 1e3, also: "kg/kmol"},
	},
	shows: []show{{0, "g/mol"}},
}

func (MolarMass) definition() *definition { return &molarMassDefinition }

// ParseMolarMass reads text such as "28.0134 g/mol".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseMolarMass(text string) (MolarMass, error) { return parse[MolarMass](text) }

// String returns m rounded to four digits, with its unit.
func (m MolarMass) String() string { return text(m) }

// MarshalText writes m in kg/mol so that it reads back to the same bits.
func (m MolarMass) MarshalText() ([]byte, error) { return marshalText(m) }

// UnmarshalText reads what ParseMolarMass reads.
func (m *MolarMass) UnmarshalText(text []byte) error { return unmarshalText(m, text) }

// UnmarshalJSON reads a JSON string as ParseMolarMass does; a bare number or null is
// refused.
func (m *MolarMass) UnmarshalJSON(data []byte) error { return unmarshalJSON(m, data) }
