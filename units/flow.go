package units

// VolumeFlow is a volume per time in m³/s at the state named by its field, for
// a pump the state at its inlet; valid from 0 up.
type VolumeFlow float64

// Conductance is the conductance of a gas path in m³/s: throughput divided by
// the pressure difference that drives it; valid from 0 up.
type Conductance float64

// Throughput is a flow of gas as pressure times volume per time, Pa·m³/s. It is
// an amount of gas only together with a temperature (MolarFlow).
type Throughput float64

// Units of volume flow and throughput, exact by definition.
const (
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

// In returns f in multiples of unit.
func (f VolumeFlow) In(unit VolumeFlow) float64 { return float64(f) / float64(unit) }

// In returns q in multiples of unit.
func (q Throughput) In(unit Throughput) float64 { return float64(q) / float64(unit) }

// Throughput returns C (up - down), the flow that conductance c passes between
// the two pressures.
func (c Conductance) Throughput(up, down Pressure) Throughput {
	return Throughput(float64(c) * float64(up-down))
}

// Throughput returns p f, what the volume flow f carries at its own pressure p.
func (f VolumeFlow) Throughput(p Pressure) Throughput {
	return Throughput(float64(f) * float64(p))
}

// VolumeFlow returns q/p, the volume flow that carries q at pressure p, above 0.
// The pressure is not checked: zero gives an infinity or NaN.
func (q Throughput) VolumeFlow(p Pressure) VolumeFlow {
	return VolumeFlow(float64(q) / float64(p))
}

// volumesPerTime are the units of volume flows and of conductances.
var volumesPerTime = []unit{
	{name: "m³/s", factor: 1},
	{name: "m³/min", factor: 1, per: 60},
	{name: "m³/h", factor: 1, per: 3600, also: "m3/hr|cu m/h"},
	{name: "L/s", factor: 1, per: 1e3, also: "l/s|litre/s|dm3/s"},
	{name: "L/min", factor: 1, per: 60e3, also: "l/min|~litre/min|~litres/min|~liter/min"},
	{name: "L/h", factor: 1, per: 3600e3, also: "l/h|l/hr|L/hr"},
	{name: "mL/s", factor: 1, per: 1e6, also: "ml/s|cm3/s|cc/s"},
	{name: "mL/min", factor: 1, per: 60e6, also: "ml/min|cm3/min|cc/min"},
	{name: "CFM", factor: float64(CubicFoot), per: 60, also: "~cfm|ft3/min|cu ft/min"},
	{name: "ft³/h", factor: float64(CubicFoot), per: 3600, also: "~cfh|ft3/hr"},
}

// notVolumesPerTime are spellings that could be taken for such units.
var notVolumesPerTime = []refusal{
	{"NL/min|NL/s|NL/h|Nl/min|Nm3/h|Nm3/s|~scfm|~scfh|~slpm|sL/min|~sccm|sm3/h", `this is an amount of gas per time, not a volume; it belongs in a field that takes a molar flow`, ErrAmbiguous},
	{"~gpm", `US and imperial gallons differ; write L/min`, ErrAmbiguous},
	{"l/m|L/m|~lpm", `write L/min`, ErrAmbiguous},
	{"m3/m", `write m³/min`, ErrAmbiguous},
}

var volumeFlowDefinition = definition{
	name: "VolumeFlow", noun: "volume flow", example: "6 CFM",
	lo: 0, hi: mostPositive,
	units:   volumesPerTime,
	shows:   []show{{0, "mL/min"}, {1e-6, "L/min"}, {1e-3, "m³/h"}, {1, "m³/s"}},
	refuses: notVolumesPerTime,
}

func (VolumeFlow) definition() *definition { return &volumeFlowDefinition }

// ParseVolumeFlow reads text such as "6 CFM".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseVolumeFlow(text string) (VolumeFlow, error) { return parse[VolumeFlow](text) }

// String returns f rounded to four digits, with its unit.
func (f VolumeFlow) String() string { return text(f) }

// MarshalText writes f in m³/s so that it reads back to the same bits.
func (f VolumeFlow) MarshalText() ([]byte, error) { return marshalText(f) }

// UnmarshalText reads what ParseVolumeFlow reads.
func (f *VolumeFlow) UnmarshalText(text []byte) error { return unmarshalText(f, text) }

// UnmarshalJSON reads a JSON string as ParseVolumeFlow does; a bare number or null is
// refused.
func (f *VolumeFlow) UnmarshalJSON(data []byte) error { return unmarshalJSON(f, data) }

var conductanceDefinition = definition{
	name: "Conductance", noun: "conductance", example: "0.5 L/s",
	lo: 0, hi: mostPositive,
	units:   volumesPerTime,
	shows:   []show{{0, "mL/s"}, {1e-4, "L/s"}, {1, "m³/s"}},
	refuses: notVolumesPerTime,
}

func (Conductance) definition() *definition { return &conductanceDefinition }

// ParseConductance reads text such as "0.5 L/s".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseConductance(text string) (Conductance, error) { return parse[Conductance](text) }

// String returns c rounded to four digits, with its unit.
func (c Conductance) String() string { return text(c) }

// MarshalText writes c in m³/s so that it reads back to the same bits.
func (c Conductance) MarshalText() ([]byte, error) { return marshalText(c) }

// UnmarshalText reads what ParseConductance reads.
func (c *Conductance) UnmarshalText(text []byte) error { return unmarshalText(c, text) }

// UnmarshalJSON reads a JSON string as ParseConductance does; a bare number or null is
// refused.
func (c *Conductance) UnmarshalJSON(data []byte) error { return unmarshalJSON(c, data) }

var throughputDefinition = definition{
	name: "Throughput", noun: "throughput", example: "1e-6 mbar·L/s",
	lo: mostNegative, hi: mostPositive,
	units: []unit{
		{name: "Pa·m³/s", factor: 1, also: "Pa m3/s"},
		{name: "Pa·L/s", factor: 1, per: 1e3, also: "Pa L/s|Pa.l/s|Pa l/s"},
		{name: "mbar·L/s", factor: 1, per: 10, also: "mbar L/s|mbar.l/s|mbar l/s"},
		{name: "Torr·L/s", factor: 101325, per: 760e3, also: "~Torr L/s|~Torr.L/s"},
		{name: "micron·L/s", factor: 101325, per: 760e6, also: "~micron L/s|~micron.L/s|~mTorr.L/s|~mTorr L/s|~lusec"},
		{name: "atm·cm³/s", factor: 101325, per: 1e6, also: "atm cm3/s|atm cc/s|atm.cc/s"},
	},
	refuses: []refusal{
		{"~sccm|std cm3/s|std cc/s|scc/s|scc/min", `this is an amount of gas per time; it belongs in a field that takes a molar flow, with its reference temperature`, ErrAmbiguous},
		{"mb.L/s|mb.l/s|mb l/s|mb L/s", `write mbar·L/s`, ErrAmbiguous},
	},
}

func (Throughput) definition() *definition { return &throughputDefinition }

// ParseThroughput reads text such as "1e-6 mbar·L/s". A blank may stand for
// the dot.
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseThroughput(text string) (Throughput, error) { return parse[Throughput](text) }

// String returns q rounded to four digits, with its unit.
func (q Throughput) String() string { return text(q) }

// MarshalText writes q in Pa·m³/s so that it reads back to the same bits.
func (q Throughput) MarshalText() ([]byte, error) { return marshalText(q) }

// UnmarshalText reads what ParseThroughput reads.
func (q *Throughput) UnmarshalText(text []byte) error { return unmarshalText(q, text) }

// UnmarshalJSON reads a JSON string as ParseThroughput does; a bare number or null is
// refused.
func (q *Throughput) UnmarshalJSON(data []byte) error { return unmarshalJSON(q, data) }
