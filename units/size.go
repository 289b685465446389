package units

import "math"

// Length is a length in m. Bores are inner diameters. It may be negative, for
// instance an altitude below sea level; sizes are checked where they are used.
type Length float64

// Area is an area in m², valid from 0 up.
type Area float64

// Volume is a volume in m³, valid from 0 up.
type Volume float64

// Units of length, area and volume, exact by definition.
const (
	Metre      Length = 1
	Centimetre Length = 1e-2
	Millimetre Length = 1e-3
	Micrometre Length = 1e-6
	Inch       Length = 0.0254
	Foot       Length = 0.3048

	SquareMetre      Area = 1
	SquareCentimetre Area = 1e-4
	SquareMillimetre Area = 1e-6

	CubicMetre      Volume = 1
	Litre           Volume = 1e-3
	Millilitre      Volume = 1e-6
	CubicCentimetre Volume = 1e-6
	CubicFoot       Volume = 0.3048 * 0.3048 * 0.3048
	USGallon        Volume = 231 * 0.0254 * 0.0254 * 0.0254
)

// In returns d in multiples of unit.
func (d Length) In(unit Length) float64 { return float64(d) / float64(unit) }

// Circle returns the area of a circle of diameter d.
func (d Length) Circle() Area { return Area(math.Pi / 4 * float64(d) * float64(d)) }

// In returns a in multiples of unit.
func (a Area) In(unit Area) float64 { return float64(a) / float64(unit) }

// In returns v in multiples of unit.
func (v Volume) In(unit Volume) float64 { return float64(v) / float64(unit) }

var lengthDefinition = definition{
	name: "Length", noun: "length", example: "7.9 mm",
	lo: mostNegative, hi: mostPositive,
	units: []unit{
		{name: "m", factor: 1, also: "~metre|~metres|~meter|~meters"},
		{name: "cm", factor: 1, per: 100},
		{name: "mm", factor: 1, per: 1e3},
		{name: "µm", factor: 1, per: 1e6, also: "~micrometre|~micrometres|~micrometer|~micrometers"},
		{name: "nm", factor: 1, per: 1e9},
		{name: "km", factor: 1e3},
		{name: "in", factor: 254, per: 1e4, also: "~inch|~inches"},
		{name: "ft", factor: 3048, per: 1e4, also: "~foot|~feet"},
	},
	shows: []show{{0, "µm"}, {1e-3, "mm"}, {1, "m"}},
	refuses: []refusal{
		{"~micron|~microns", `a micron is a pressure here; write µm for a length`, ErrAmbiguous},
		{"~mil|~mils", `a mil is 0.001 in or, loosely, a millimetre; write in or mm`, ErrAmbiguous},
		{"M|MM", `write m or mm in small letters`, ErrAmbiguous},
	},
}

func (Length) definition() *definition { return &lengthDefinition }

// ParseLength reads text such as "7.9 mm".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseLength(text string) (Length, error) { return parse[Length](text) }

// String returns d rounded to four digits, with its unit.
func (d Length) String() string { return text(d) }

// MarshalText writes d in m so that it reads back to the same bits.
func (d Length) MarshalText() ([]byte, error) { return marshalText(d) }

// UnmarshalText reads what ParseLength reads.
func (d *Length) UnmarshalText(text []byte) error { return unmarshalText(d, text) }

// UnmarshalJSON reads a JSON string as ParseLength does; a bare number or null is
// refused.
func (d *Length) UnmarshalJSON(data []byte) error { return unmarshalJSON(d, data) }

var areaDefinition = definition{
	name: "Area", noun: "area", example: "2.5 cm²",
	lo: 0, hi: mostPositive,
	units: []unit{
		{name: "m²", factor: 1, also: "sq m"},
		{name: "cm²", factor: 1, per: 1e4, also: "sq cm"},
		{name: "mm²", factor: 1, per: 1e6, also: "sq mm"},
		{name: "in²", factor: 0.00064516, also: "sq in|~sq.in"},
		{name: "ft²", factor: 0.09290304, also: "sq ft|~sq.ft"},
	},
	shows: []show{{0, "mm²"}, {1e-4, "cm²"}, {1, "m²"}},
}

func (Area) definition() *definition { return &areaDefinition }

// ParseArea reads text such as "2.5 cm²".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseArea(text string) (Area, error) { return parse[Area](text) }

// String returns a rounded to four digits, with its unit.
func (a Area) String() string { return text(a) }

// MarshalText writes a in m² so that it reads back to the same bits.
func (a Area) MarshalText() ([]byte, error) { return marshalText(a) }

// UnmarshalText reads what ParseArea reads.
func (a *Area) UnmarshalText(text []byte) error { return unmarshalText(a, text) }

// UnmarshalJSON reads a JSON string as ParseArea does; a bare number or null is
// refused.
func (a *Area) UnmarshalJSON(data []byte) error { return unmarshalJSON(a, data) }

var volumeDefinition = definition{
	name: "Volume", noun: "volume", example: "8 L",
	lo: 0, hi: mostPositive,
	units: []unit{
		{name: "m³", factor: 1, also: "cu m"},
		{name: "L", factor: 1, per: 1e3, also: "l|~litre|~litres|~liter|~liters|dm3"},
		{name: "mL", factor: 1, per: 1e6, also: "ml|~millilitre|~millilitres|~milliliter|~milliliters"},
		{name: "cm³", factor: 1, per: 1e6, also: "cc|ccm"},
		{name: "mm³", factor: 1, per: 1e9},
		{name: "ft³", factor: float64(CubicFoot), also: "cu ft|~cu.ft"},
		{name: "in³", factor: 16387064, per: 1e12, also: "cu in|~cu.in"},
		{name: "US gal", factor: 3785411784, per: 1e12, also: "~US gallon|~US gallons"},
	},
	shows: []show{{0, "mL"}, {1e-3, "L"}, {1, "m³"}},
	refuses: []refusal{
		{"~gal|~gallon|~gallons", `write US gal (3.785 L); an imperial gallon is 4.546 L`, ErrAmbiguous},
		{"~oz|~fl oz|~pt|~qt|~pint|~quart", `differs between systems; write mL or L`, ErrAmbiguous},
		{"M|m|cm|mm", `this is a length; write m³, L or cm³`, ErrAmbiguous},
		{"NL|Nl|Nm3|NmL|Ncm3|~scf|sL|scc", `this is an amount of gas, not a volume; it belongs in a field that takes an amount`, ErrAmbiguous},
	},
}

func (Volume) definition() *definition { return &volumeDefinition }

// ParseVolume reads text such as "8 L".
// Errors are ErrSyntax, ErrAmbiguous and RangeError.
func ParseVolume(text string) (Volume, error) { return parse[Volume](text) }

// String returns v rounded to four digits, with its unit.
func (v Volume) String() string { return text(v) }

// MarshalText writes v in m³ so that it reads back to the same bits.
func (v Volume) MarshalText() ([]byte, error) { return marshalText(v) }

// UnmarshalText reads what ParseVolume reads.
func (v *Volume) UnmarshalText(text []byte) error { return unmarshalText(v, text) }

// UnmarshalJSON reads a JSON string as ParseVolume does; a bare number or null is
// refused.
func (v *Volume) UnmarshalJSON(data []byte) error { return unmarshalJSON(v, data) }
