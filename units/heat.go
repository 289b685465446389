package units

// Energy is an energy in J.
type Energy float64

// SpecificEnergy is an energy per mass in J/kg.
type SpecificEnergy float64

// Power is a power in W.
type Power float64

// HeatConductance is heat flow per temperature difference, the UA of a heat
// path, in W/K; valid from 0 up.
type HeatConductance float64

// Units of energy, power and heat conductance.
const (
	Joule                Energy          = 1
	KilojoulePerKilogram SpecificEnergy  = 1e3
	Watt                 Power           = 1
	WattPerKelvin        HeatConductance = 1
)

// In returns e in multiples of unit.
func (e SpecificEnergy) In(unit SpecificEnergy) float64 { return float64(e) / float64(unit) }

var energyDefinition = definition{
	name: "Energy", noun: "energy", example: "3.3 kJ",
	lo: mostNegative, hi: mostPositive,
	units: []unit{
		{name: "J", factor: 1, also: "~joule|~joules"},
		{name: "mJ", factor: 1, per: 1e3},
		{name: "kJ", factor: 1e3},
		{name: "MJ", factor: 1e6},
		{name: "Wh", factor: 3600},
		{name: "kWh", factor: 3600e3},
	},
	shows: []show{{0, "J"}, {1e4, "kJ"}, {1e7, "MJ"}},
	refuses: []refusal{
		{"~BTU|~cal|~kcal", `several definitions differ; write J or kJ`, ErrAmbiguous},
	},
}

func (Energy) definition() *definition { return &energyDefinition }

// ParseEnergy reads text such as "3.3 kJ".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseEnergy(text string) (Energy, error) { return parse[Energy](text) }

// String returns e rounded to four digits, with its unit.
func (e Energy) String() string { return text(e) }

// MarshalText writes e in J so that it reads back to the same bits.
func (e Energy) MarshalText() ([]byte, error) { return marshalText(e) }

// UnmarshalText reads what ParseEnergy reads.
func (e *Energy) UnmarshalText(text []byte) error { return unmarshalText(e, text) }

// UnmarshalJSON reads a JSON string as ParseEnergy does; a bare number or null is
// refused.
func (e *Energy) UnmarshalJSON(data []byte) error { return unmarshalJSON(e, data) }

var specificEnergyDefinition = definition{
	name: "SpecificEnergy", noun: "specific energy", example: "2500.9 kJ/kg",
	lo: mostNegative, hi: mostPositive,
	units: []unit{
		{name: "J/kg", factor: 1},
		{name: "kJ/kg", factor: 1e3, also: "J/g"},
		{name: "MJ/kg", factor: 1e6},
	},
	shows: []show{{0, "J/kg"}, {1e3, "kJ/kg"}},
	refuses: []refusal{
		{"~BTU/lb|~kcal/kg|~cal/g", `several definitions differ; write kJ/kg`, ErrAmbiguous},
	},
}

func (SpecificEnergy) definition() *definition { return &specificEnergyDefinition }

// ParseSpecificEnergy reads text such as "2500.9 kJ/kg".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseSpecificEnergy(text string) (SpecificEnergy, error) { return parse[SpecificEnergy](text) }

// String returns e rounded to four digits, with its unit.
func (e SpecificEnergy) String() string { return text(e) }

// MarshalText writes e in J/kg so that it reads back to the same bits.
func (e SpecificEnergy) MarshalText() ([]byte, error) { return marshalText(e) }

// UnmarshalText reads what ParseSpecificEnergy reads.
func (e *SpecificEnergy) UnmarshalText(text []byte) error { return unmarshalText(e, text) }

// UnmarshalJSON reads a JSON string as ParseSpecificEnergy does; a bare number or null is
// refused.
func (e *SpecificEnergy) UnmarshalJSON(data []byte) error { return unmarshalJSON(e, data) }

var powerDefinition = definition{
	name: "Power", noun: "power", example: "40 W",
	lo: mostNegative, hi: mostPositive,
	units: []unit{
		{name: "W", factor: 1, also: "~watt|~watts"},
		{name: "mW", factor: 1, per: 1e3},
		{name: "kW", factor: 1e3},
		{name: "MW", factor: 1e6},
	},
	shows: []show{{0, "mW"}, {1, "W"}, {1e4, "kW"}},
	refuses: []refusal{
		{"~ton|~tons|~hp|~BTU/h|~BTUH|~ps", `several definitions differ; write W or kW`, ErrAmbiguous},
	},
}

func (Power) definition() *definition { return &powerDefinition }

// ParsePower reads text such as "40 W".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParsePower(text string) (Power, error) { return parse[Power](text) }

// String returns w rounded to four digits, with its unit.
func (w Power) String() string { return text(w) }

// MarshalText writes w in W so that it reads back to the same bits.
func (w Power) MarshalText() ([]byte, error) { return marshalText(w) }

// UnmarshalText reads what ParsePower reads.
func (w *Power) UnmarshalText(text []byte) error { return unmarshalText(w, text) }

// UnmarshalJSON reads a JSON string as ParsePower does; a bare number or null is
// refused.
func (w *Power) UnmarshalJSON(data []byte) error { return unmarshalJSON(w, data) }

var heatConductanceDefinition = definition{
	name: "HeatConductance", noun: "heat conductance", example: "0.8 W/K",
	lo: 0, hi: mostPositive,
	units: []unit{
		{name: "W/K", factor: 1, also: "W/°C|J/s/K"},
		{name: "mW/K", factor: 1, per: 1e3},
		{name: "kW/K", factor: 1e3},
	},
	shows: []show{{0, "mW/K"}, {0.1, "W/K"}, {1e4, "kW/K"}},
}

func (HeatConductance) definition() *definition { return &heatConductanceDefinition }

// ParseHeatConductance reads text such as "0.8 W/K".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseHeatConductance(text string) (HeatConductance, error) { return parse[HeatConductance](text) }

// String returns c rounded to four digits, with its unit.
func (c HeatConductance) String() string { return text(c) }

// MarshalText writes c in W/K so that it reads back to the same bits.
func (c HeatConductance) MarshalText() ([]byte, error) { return marshalText(c) }

// UnmarshalText reads what ParseHeatConductance reads.
func (c *HeatConductance) UnmarshalText(text []byte) error { return unmarshalText(c, text) }

// UnmarshalJSON reads a JSON string as ParseHeatConductance does; a bare number or null is
// refused.
func (c *HeatConductance) UnmarshalJSON(data []byte) error { return unmarshalJSON(c, data) }
