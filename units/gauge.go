package units

// GaugePressure is a pressure above the ambient in Pa; negative below ambient.
// It becomes a Pressure only together with an ambient pressure (Absolute).
type GaugePressure float64

// Units of gauge pressure, exact by definition.
const (
	// PSIG is the pound-force per square inch above ambient.
	PSIG GaugePressure = GaugePressure(PSIA)
	// BarGauge is the bar above ambient.
	BarGauge GaugePressure = 1e5
	// KilopascalGauge is the kilopascal above ambient.
	KilopascalGauge GaugePressure = 1e3
)

// InHgVacuum returns the gauge pressure that lies depth inches of mercury below
// ambient; depth is positive for a vacuum.
func InHgVacuum(depth float64) GaugePressure { return GaugePressure(-depth * float64(InchHg)) }

// In returns g in multiples of unit.
func (g GaugePressure) In(unit GaugePressure) float64 { return float64(g) / float64(unit) }

// Absolute returns the absolute pressure of the gauge pressure g at the given
// ambient pressure. It can come out negative when g lies below the vacuum; the
// caller's range check refuses that, and PressureReading.Absolute does so itself.
func (g GaugePressure) Absolute(ambient Pressure) Pressure { return Pressure(g) + ambient }

var gaugePressureDefinition = definition{
	name: "GaugePressure", noun: "gauge pressure", example: "2 psig",
	lo: mostNegative, hi: mostPositive,
	units: []unit{
		{name: "Pa gauge", factor: 1, also: "Pa(g)|Pag"},
		{name: "kPa gauge", factor: 1e3, also: "kPa(g)|kPag"},
		{name: "MPa gauge", factor: 1e6, also: "MPa(g)|MPag"},
		{name: "bar gauge", factor: 1e5, also: "~barg|~bar(g)|Bar gauge|bar g"},
		{name: "mbar gauge", factor: 100, also: "mbarg|mbar(g)"},
		{name: "psig", factor: float64(PSIA), also: "~psig|~psi gauge|~psi(g)|~psi g"},
		{name: "inHg vac", factor: -float64(InchHg), also: "~inHg vac|~inHg vacuum|~in Hg vac|~in Hg vacuum|~inches Hg vacuum", positive: true},
		{name: "mmHg vac", factor: -float64(MillimetreHg), also: "~mmHg vacuum|mm Hg vac", positive: true},
	},
	shows: []show{{0, "Pa gauge"}, {1e4, "kPa gauge"}, {1e7, "MPa gauge"}},
	refuses: []refusal{
		{"~psi", `write psig`, ErrAmbiguous},
		{"~inHg|~in Hg|inches|in", `write inHg vac for a depth of vacuum below ambient`, ErrAmbiguous},
		{"Pa|hPa|kPa|MPa|bar|mbar|Bar", `bare units mean absolute pressure; write for instance kPa gauge or bar gauge`, ErrAmbiguous},
		{"mb", `write mbar gauge`, ErrAmbiguous},
	},
}

func (GaugePressure) definition() *definition { return &gaugePressureDefinition }

// ParseGaugePressure reads text such as "2 psig". Text must say that it is gauge;
// "inHg vac" takes the depth below ambient, 0 or more.
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseGaugePressure(text string) (GaugePressure, error) { return parse[GaugePressure](text) }

// String returns g rounded to four digits, with its unit.
func (g GaugePressure) String() string { return text(g) }

// MarshalText writes g in Pa gauge so that it reads back to the same bits.
func (g GaugePressure) MarshalText() ([]byte, error) { return marshalText(g) }

// UnmarshalText reads what ParseGaugePressure reads.
func (g *GaugePressure) UnmarshalText(text []byte) error { return unmarshalText(g, text) }

// UnmarshalJSON reads a JSON string as ParseGaugePressure does; a bare number or null is
// refused.
func (g *GaugePressure) UnmarshalJSON(data []byte) error { return unmarshalJSON(g, data) }

// PressureRate is a change of pressure with time in Pa/s.
type PressureRate float64

// Units of pressure rate, exact by definition.
const (
	PascalPerSecond PressureRate = 1
	MicronPerMinute PressureRate = PressureRate(Micron) / 60
)

// In returns r in multiples of unit.
func (r PressureRate) In(unit PressureRate) float64 { return float64(r) / float64(unit) }

var pressureRateDefinition = definition{
	name: "PressureRate", noun: "pressure rate", example: "100 micron/min",
	lo: mostNegative, hi: mostPositive,
	units: []unit{
		{name: "Pa/s", factor: 1},
		{name: "Pa/min", factor: 1, per: 60},
		{name: "Pa/h", factor: 1, per: 3600},
		{name: "kPa/s", factor: 1e3},
		{name: "kPa/min", factor: 1e3, per: 60},
		{name: "kPa/h", factor: 1e3, per: 3600},
		{name: "mbar/s", factor: 100},
		{name: "mbar/min", factor: 100, per: 60},
		{name: "mbar/h", factor: 100, per: 3600},
		{name: "bar/h", factor: 1e5, per: 3600},
		{name: "micron/s", factor: 101325, per: 760e3, also: "~microns/s|~mTorr/s"},
		{name: "micron/min", factor: 101325, per: 760e3 * 60, also: "~microns/min|~mTorr/min|~microns per minute|~micron per minute"},
		{name: "micron/h", factor: 101325, per: 760e3 * 3600, also: "~microns/h|~mTorr/h|~microns per hour"},
		{name: "psi/min", factor: float64(PSIA), per: 60},
		{name: "psi/h", factor: float64(PSIA), per: 3600},
	},
	shows: []show{{0, "Pa/s"}},
	refuses: []refusal{
		{"mb/s|mb/min|mb/h", `write mbar/min`, ErrAmbiguous},
	},
}

func (PressureRate) definition() *definition { return &pressureRateDefinition }

// ParsePressureRate reads text such as "100 micron/min". A rate is a difference, so psi
// needs no mark for absolute or gauge here.
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParsePressureRate(text string) (PressureRate, error) { return parse[PressureRate](text) }

// String returns r rounded to four digits, with its unit.
func (r PressureRate) String() string { return text(r) }

// MarshalText writes r in Pa/s so that it reads back to the same bits.
func (r PressureRate) MarshalText() ([]byte, error) { return marshalText(r) }

// UnmarshalText reads what ParsePressureRate reads.
func (r *PressureRate) UnmarshalText(text []byte) error { return unmarshalText(r, text) }

// UnmarshalJSON reads a JSON string as ParsePressureRate does; a bare number or null is
// refused.
func (r *PressureRate) UnmarshalJSON(data []byte) error { return unmarshalJSON(r, data) }
