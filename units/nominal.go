package units

import (
	"fmt"
	"slices"
	"strings"
)

// NominalTube names a copper tube for refrigeration field service by its nominal
// size, which is the outside diameter in inches, and its temper. A nominal size
// is no bore: conductance goes with the fourth power of the inner diameter, and
// the annealed and the drawn tube of one size differ in wall.
//
// Text reads "3/8 in nominal copper tube, drawn". The zero value is no tube.
// Only the sizes below are known; give any other tube by its inner diameter.
//
// Dimensions are those of ASTM B280. Drawn: read in B280-20, Table 1. Annealed:
// read in The Engineering ToolBox, "ASTM B280 Copper Tube for Air Conditioning
// and Refrigeration (ACR)". Walls may be thinner or thicker by 0.0025 to 0.006
// in, so the bore of a tube in hand is known to 1 or 3 %.
type NominalTube struct{ row int } // 1 + index in nominalTubes

type nominalTube struct {
	size, temper  string
	outside, wall float64 // in
	severalWalls  bool    // the text names the wall
}

var nominalTubes = []nominalTube{
	{"1/8", "annealed", 0.125, 0.030, false},
	{"1/4", "annealed", 0.250, 0.030, false},
	{"5/16", "annealed", 0.312, 0.032, false},
	{"3/8", "annealed", 0.375, 0.032, false},
	{"1/2", "annealed", 0.500, 0.032, false},
	{"5/8", "annealed", 0.625, 0.035, false},
	{"3/4", "annealed", 0.750, 0.035, true},
	{"3/4", "annealed", 0.750, 0.042, true},
	{"7/8", "annealed", 0.875, 0.045, false},
	{"1 1/8", "annealed", 1.125, 0.050, false},
	{"1 3/8", "annealed", 1.375, 0.055, false},
	{"1/4", "drawn", 0.250, 0.025, false},
	{"3/8", "drawn", 0.375, 0.030, false},
	{"1/2", "drawn", 0.500, 0.035, false},
	{"5/8", "drawn", 0.625, 0.040, false},
	{"3/4", "drawn", 0.750, 0.042, false},
	{"7/8", "drawn", 0.875, 0.045, false},
	{"1 1/8", "drawn", 1.125, 0.050, false},
	{"1 3/8", "drawn", 1.375, 0.055, false},
	{"1 5/8", "drawn", 1.625, 0.060, false},
	{"2 1/8", "drawn", 2.125, 0.070, false},
}

// text is the canonical spelling.
func (t nominalTube) text() string {
	s := t.size + " in nominal copper tube, " + t.temper
	if t.severalWalls {
		s += fmt.Sprintf(", wall %.3f in", t.wall)
	}
	return s
}

// NominalTubes lists every tube that is known, annealed before drawn.
func NominalTubes() []NominalTube {
	list := make([]NominalTube, len(nominalTubes))
	for i := range list {
		list[i] = NominalTube{i + 1}
	}
	return list
}

// ParseNominalTube reads text such as "3/8 in nominal copper tube, drawn";
// commas, "inch" and a hyphen as in "1-1/8" are accepted as well. A size without
// its temper, or without its wall where there are two, is ErrAmbiguous with the
// list of what was possible; everything else is ErrSyntax with the whole list.
func ParseNominalTube(text string) (NominalTube, error) {
	const fn = "units.ParseNominalTube"
	if len(text) > maxText {
		return NominalTube{}, refuse(fn, text, fmt.Errorf("longer than %d bytes", maxText))
	}
	key := nominalKey(text)
	var begun, all []string
	for i, t := range nominalTubes {
		candidate := nominalKey(t.text())
		if key == candidate {
			return NominalTube{i + 1}, nil
		}
		if len(key) > 0 && strings.HasSuffix(key, "tube") && strings.HasPrefix(candidate, key) ||
			t.severalWalls && strings.HasPrefix(candidate, key+" wall") {
			begun = append(begun, t.text())
		}
		all = append(all, t.text())
	}
	switch len(begun) {
	case 0:
		return NominalTube{}, refuse(fn, text, &unitError{"not a listed tube; give the inner diameter, or one of: " + strings.Join(all, "; "), ErrSyntax})
	case 1:
		return NominalTube{}, refuse(fn, text, &unitError{"the temper is missing; only one is listed, write " + begun[0], ErrAmbiguous})
	}
	return NominalTube{}, refuse(fn, text, &unitError{"more than one tube is meant; write " + strings.Join(begun, " or "), ErrAmbiguous})
}

// nominalKey reduces the text of a tube to what decides.
func nominalKey(text string) string {
	s := strings.ToLower(strings.ReplaceAll(text, ",", " "))
	s = strings.NewReplacer("1-", "1 ", "2-", "2 ", "inch", "in").Replace(s)
	fields := slices.DeleteFunc(strings.Fields(s), func(f string) bool { return f == "astm" || f == "b280" })
	return strings.Join(fields, " ")
}

// IsZero reports whether no tube is named.
func (t NominalTube) IsZero() bool { return t.row == 0 }

// OutsideDiameter returns the outside diameter in m; 0 for no tube.
func (t NominalTube) OutsideDiameter() Length {
	if t.row == 0 {
		return 0
	}
	return Length(nominalTubes[t.row-1].outside) * Inch
}

// Wall returns the nominal wall thickness in m; 0 for no tube.
func (t NominalTube) Wall() Length {
	if t.row == 0 {
		return 0
	}
	return Length(nominalTubes[t.row-1].wall) * Inch
}

// InnerDiameter returns the outside diameter less two walls, in m; 0 for no
// tube.
func (t NominalTube) InnerDiameter() Length { return t.OutsideDiameter() - 2*t.Wall() }

// String returns the text that ParseNominalTube reads.
func (t NominalTube) String() string {
	if t.row == 0 {
		return "no tube"
	}
	return nominalTubes[t.row-1].text()
}

// MarshalText writes the text that ParseNominalTube reads; no tube is
// ErrMissing: mark the JSON field omitzero.
func (t NominalTube) MarshalText() ([]byte, error) {
	if t.row == 0 {
		return nil, fmt.Errorf("units.NominalTube.MarshalText: %w", ErrMissing)
	}
	return []byte(t.String()), nil
}

// UnmarshalText reads what ParseNominalTube reads.
func (t *NominalTube) UnmarshalText(text []byte) error {
	v, err := ParseNominalTube(string(text))
	if err != nil {
		return err
	}
	*t = v
	return nil
}

// UnmarshalJSON reads a JSON string as ParseNominalTube does; a bare number or
// null is refused.
func (t *NominalTube) UnmarshalJSON(data []byte) error {
	text, err := jsonText[NominalTube](data, nominalTubes[0].text())
	if err != nil {
		return err
	}
	return t.UnmarshalText([]byte(text))
}
