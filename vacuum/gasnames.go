package vacuum

import (
	"fmt"
	"strings"
)

// Gases are all gases with built-in properties: the permanent ones, water and
// the refrigerants.
func Gases() []Gas {
	return []Gas{
		Nitrogen(), Air(), Oxygen(), Argon(), Helium(), CarbonDioxide(), WaterVapour(),
		R22(), R32(), R125(), R134a(), R1234yf(), R290(), R600a(), R410A(), R454B(),
	}
}

// refrigerantNumber is the number of a gas whose Name is another one (numbers by
// ASHRAE 34, from memory).
func refrigerantNumber(name string) string {
	switch name {
	case "helium":
		return "R-704"
	case "water":
		return "R-718"
	case nitrogenName:
		return "R-728"
	case airName:
		return "R-729"
	case "oxygen":
		return "R-732"
	case "argon":
		return "R-740"
	case "carbon dioxide":
		return "R-744"
	}
	return name
}

// GasNamed is the built-in gas of the given name or refrigerant number: "air",
// "carbon dioxide", "R-744", "r410a". Case, blanks and hyphens do not count. The
// error for an unknown name lists all there are.
func GasNamed(name string) (Gas, error) {
	plain := func(s string) string { return strings.ToLower(strings.NewReplacer(" ", "", "-", "").Replace(s)) }
	var known []string
	for _, g := range Gases() {
		number := refrigerantNumber(g.Name)
		if want := plain(name); want == plain(g.Name) || want == plain(number) {
			return g, nil
		}
		known = append(known, g.Name)
	}
	return Gas{}, fmt.Errorf("vacuum.GasNamed: no gas %q, there are %s", name, strings.Join(known, ", "))
}
