package units

// Conductivity is a thermal conductivity in W/(m·K), valid from 0 up.
type Conductivity float64

// Diffusivity is a diffusion coefficient in m²/s, valid from 0 up.
type Diffusivity float64

// Viscosity is a dynamic viscosity in Pa·s, valid from 0 up.
type Viscosity float64

var conductivityDefinition = definition{
	name: "Conductivity", noun: "thermal conductivity", example: "0.026 W/(m·K)",
	lo: 0, hi: mostPositive,
	units: []unit{
		{name: "W/(m·K)", factor: 1, also: "W/(m K)|W/m/K|W/m.K|W.m-1.K-1"},
		{name: "mW/(m·K)", factor: 1, per: 1e3, also: "mW/(m K)|mW/m/K"},
	},
	shows: []show{{0, "mW/(m·K)"}, {1, "W/(m·K)"}},
}

func (Conductivity) definition() *definition { return &conductivityDefinition }

// ParseConductivity reads text such as "0.026 W/(m·K)".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseConductivity(text string) (Conductivity, error) { return parse[Conductivity](text) }

// String returns k rounded to four digits, with its unit.
func (k Conductivity) String() string { return text(k) }

// MarshalText writes k in W/(m·K) so that it reads back to the same bits.
func (k Conductivity) MarshalText() ([]byte, error) { return marshalText(k) }

// UnmarshalText reads what ParseConductivity reads.
func (k *Conductivity) UnmarshalText(text []byte) error { return unmarshalText(k, text) }

// UnmarshalJSON reads a JSON string as ParseConductivity does; a bare number or null is
// refused.
func (k *Conductivity) UnmarshalJSON(data []byte) error { return unmarshalJSON(k, data) }

var diffusivityDefinition = definition{
	name: "Diffusivity", noun: "diffusivity", example: "0.25 cm²/s",
	lo: 0, hi: mostPositive,
	units: []unit{
		{name: "m²/s", factor: 1},
		{name: "cm²/s", factor: 1, per: 1e4},
		{name: "mm²/s", factor: 1, per: 1e6},
	},
	shows: []show{{0, "mm²/s"}, {1e-5, "cm²/s"}, {1, "m²/s"}},
}

func (Diffusivity) definition() *definition { return &diffusivityDefinition }

// ParseDiffusivity reads text such as "0.25 cm²/s".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseDiffusivity(text string) (Diffusivity, error) { return parse[Diffusivity](text) }

// String returns d rounded to four digits, with its unit.
func (d Diffusivity) String() string { return text(d) }

// MarshalText writes d in m²/s so that it reads back to the same bits.
func (d Diffusivity) MarshalText() ([]byte, error) { return marshalText(d) }

// UnmarshalText reads what ParseDiffusivity reads.
func (d *Diffusivity) UnmarshalText(text []byte) error { return unmarshalText(d, text) }

// UnmarshalJSON reads a JSON string as ParseDiffusivity does; a bare number or null is
// refused.
func (d *Diffusivity) UnmarshalJSON(data []byte) error { return unmarshalJSON(d, data) }

var viscosityDefinition = definition{
	name: "Viscosity", noun: "viscosity", example: "17.8 µPa·s",
	lo: 0, hi: mostPositive,
	units: []unit{
		{name: "Pa·s", factor: 1, also: "Pa s|kg/(m.s)|kg/(m s)"},
		{name: "mPa·s", factor: 1, per: 1e3, also: "mPa s|cP|~centipoise"},
		{name: "µPa·s", factor: 1, per: 1e6, also: "uPa s"},
	},
	shows: []show{{0, "µPa·s"}, {1e-3, "mPa·s"}, {1, "Pa·s"}},
	refuses: []refusal{
		{"P", `write Pa·s, or cP for a centipoise`, ErrAmbiguous},
	},
}

func (Viscosity) definition() *definition { return &viscosityDefinition }

// ParseViscosity reads text such as "17.8 µPa·s".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseViscosity(text string) (Viscosity, error) { return parse[Viscosity](text) }

// String returns mu rounded to four digits, with its unit.
func (mu Viscosity) String() string { return text(mu) }

// MarshalText writes mu in Pa·s so that it reads back to the same bits.
func (mu Viscosity) MarshalText() ([]byte, error) { return marshalText(mu) }

// UnmarshalText reads what ParseViscosity reads.
func (mu *Viscosity) UnmarshalText(text []byte) error { return unmarshalText(mu, text) }

// UnmarshalJSON reads a JSON string as ParseViscosity does; a bare number or null is
// refused.
func (mu *Viscosity) UnmarshalJSON(data []byte) error { return unmarshalJSON(mu, data) }
