package vacuum

import (
	"fmt"
	"math"

	"example.com/drydown/units"
)

// FilterDrier is a drier or strainer in the gas line: a connection at each end
// and a bed of grains between, as gas sees it. What its desiccant does to vapour
// is a store's business.
type FilterDrier struct {
	// Connection is the inner diameter of both ends and ConnectionLength the
	// length of each, m.
	Connection, ConnectionLength units.Length
	// Shell is the inner diameter of the bed and BedLength its length, m.
	Shell, BedLength units.Length
	// Grain is the diameter of the grains, m.
	Grain units.Length
	// Porosity is the share of the bed between the grains, 0.2 to 0.9; zero means
	// 0.4, spheres at random (common practice).
	Porosity float64
}

// Kozeny's constant of a bed of spheres, 5, is twice the square of the
// tortuosity (P. C. Carman 1937, from memory).
const bedTortuosity = 1.5811388300841898 // √2.5

// Passage is the drier as a way for gas. The bed is a bundle of equal pores with
// the volume and the surface of the bed: in dense slow gas that is the equation
// of Kozeny and Carman, within its 10 %; in thin gas, where the same bundle is
// used, it is an estimate, good to a third. Zero or negative sizes, and a bed of
// fewer than one pore, are errors that name the field.
func (d FilterDrier) Passage() (Passage, error) {
	if d.Porosity == 0 {
		d.Porosity = 0.4
	}
	const fn = "vacuum.FilterDrier"
	err := checkBounds(fn, bound{"Connection", float64(d.Connection), 1e-4, 1, "m"},
		bound{"ConnectionLength", float64(d.ConnectionLength), 0, 10, "m"},
		bound{"Shell", float64(d.Shell), 1e-3, 2, "m"}, bound{"BedLength", float64(d.BedLength), 1e-4, 10, "m"},
		bound{"Grain", float64(d.Grain), 1e-5, float64(d.Shell) / 4, "m"}, bound{"Porosity", d.Porosity, 0.2, 0.9, ""})
	if err != nil {
		return nil, err
	}
	pore := 2.0 / 3 * float64(d.Grain) * d.Porosity / (1 - d.Porosity) // four times volume over surface
	length := bedTortuosity * float64(d.BedLength)
	count := math.Round(d.Porosity * float64(d.Shell.Circle()) / (bedTortuosity * float64(units.Length(pore).Circle())))
	if err := units.CheckRange(fn, "pores side by side", count, 1, 1e6, ""); err != nil {
		return nil, fmt.Errorf("%w (grains of %v in a shell of %v)", err, d.Grain, d.Shell)
	}
	end := Segment{Name: "drier connection", Bore: d.Connection, Length: d.ConnectionLength}
	bed := Segment{Name: "drier bed", Bore: units.Length(pore), Length: units.Length(length), Count: int(count)}
	return Passage{end, bed, end}, nil
}

// LiquidLineDrier is a drier of the size of a small unit's liquid line: 1/4 inch
// connections, a bed of 2 mm beads 40 mm wide and 80 mm long (common practice).
func LiquidLineDrier() FilterDrier {
	return FilterDrier{
		Connection: 4.8 * units.Millimetre, ConnectionLength: 30 * units.Millimetre,
		Shell: 40 * units.Millimetre, BedLength: 80 * units.Millimetre, Grain: 2 * units.Millimetre,
	}
}
