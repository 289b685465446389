package units

import "fmt"

// Pressure is an absolute pressure in Pa, valid from 0 up. Zero is a perfect
// vacuum.
type Pressure float64

// Units of absolute pressure. The conversions are exact by definition; those of
// mercury columns are conventional (NIST SP 811, B.8).
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
)

// In returns p in multiples of unit, as in p.In(units.Micron).
func (p Pressure) In(unit Pressure) float64 { return float64(p) / float64(unit) }

// Gauge returns p as a pressure above ambient.
func (p Pressure) Gauge(ambient Pressure) GaugePressure { return GaugePressure(p - ambient) }

var pressureDefinition = definition{
	name: "Pressure", noun: "pressure", example: "500 micron",
	lo: 0, hi: mostPositive,
	units: []unit{
		{name: "Pa", factor: 1, also: "~pascal|~pascals|Pa abs|Pa(abs)"},
		{name: "kPa", factor: 1e3, also: "kPa abs|kPa(abs)|kPaa"},
		{name: "MPa", factor: 1e6, also: "MPa abs|MPa(abs)"},
		{name: "hPa", factor: 100},
		{name: "mPa", factor: 1, per: 1e3},
		{name: "bar", factor: 1e5, also: "Bar|bara|bar abs|bar(a)|bar(abs)"},
		{name: "mbar", factor: 100, also: "mbara|mbar abs|mbar(a)|~millibar"},
		{name: "micron", factor: 101325, per: 760e3, also: "~micron|~microns|~mTorr|~millitorr"},
		{name: "Torr", factor: 101325, per: 760, also: "~torr"},
		{name: "atm", factor: 101325},
		{name: "mmHg", factor: float64(MillimetreHg), also: "mm Hg|mmHg abs|mm Hg abs"},
		{name: "inHg abs", factor: float64(InchHg), also: "~inHg abs|~in Hg abs|~inHg(abs)|~inHga|~inHg absolute"},
		{name: "psia", factor: float64(PSIA), also: "~psia|~psi abs|~psi(a)|~psi absolute"},
	},
	shows: []show{{0, "Pa"}, {1e4, "kPa"}, {1e7, "MPa"}},
	refuses: []refusal{
		{"~psi|lb/in2|~lbf/in2", `write psia for absolute pressure; psig needs a field that takes gauge pressure`, ErrAmbiguous},
		{"~inHg|~in Hg|inches|in", `write inHg abs for absolute pressure; a depth of vacuum is inHg vac, in a field that takes gauge pressure`, ErrAmbiguous},
		{"mb", `write mbar for 100 Pa`, ErrAmbiguous},
		{"um|umHg|um Hg|mu", `write micron for a thousandth of a torr; a thousandth of a conventional mmHg is 1.4e-7 larger`, ErrAmbiguous},
		{"mm|cm", `write mmHg for millimetres of mercury`, ErrAmbiguous},
		{"at|kg/cm2|kgf/cm2|kp/cm2", `technical atmospheres are told both absolute and gauge; write bar or kPa, 1 at is 98.0665 kPa`, ErrAmbiguous},
		{"~psig|~psi gauge|~psi(g)|~barg|~bar gauge|~bar(g)|kPa gauge|kPa(g)|kPag|Pa gauge|MPa gauge|mbar gauge|mbarg|~inHg vac|~inHg vacuum|~in Hg vac|~in Hg vacuum|mmHg vac", `this is a gauge unit; give the absolute pressure, such as psia, bar or inHg abs`, ErrNoAmbient},
	},
}

func (Pressure) definition() *definition { return &pressureDefinition }

// ParsePressure reads text such as "500 micron". The units bar, kPa, Pa and
// their multiples mean absolute pressure; psi and inHg alone are refused.
// Gauge units are refused with ErrNoAmbient: see PressureReading.
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParsePressure(text string) (Pressure, error) { return parse[Pressure](text) }

// String returns p rounded to four digits, with its unit.
func (p Pressure) String() string { return text(p) }

// WithMicron returns p as String does and, from 0.01 Pa to 10 kPa, in micron as
// well: "66.66 Pa (500 micron)", for readers who think in micron.
func (p Pressure) WithMicron() string {
	if p < 0.01 || p > 1e4 {
		return p.String()
	}
	return fmt.Sprintf("%v (%.4g micron)", p, p.In(Micron))
}

// MarshalText writes p in Pa so that it reads back to the same bits.
func (p Pressure) MarshalText() ([]byte, error) { return marshalText(p) }

// UnmarshalText reads what ParsePressure reads.
func (p *Pressure) UnmarshalText(text []byte) error { return unmarshalText(p, text) }

// UnmarshalJSON reads a JSON string as ParsePressure does; a bare number or null is
// refused.
func (p *Pressure) UnmarshalJSON(data []byte) error { return unmarshalJSON(p, data) }
