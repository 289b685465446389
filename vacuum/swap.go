package vacuum

import (
	"fmt"
	"math"
	"time"

	"example.com/drydown/units"
)

// Swap is what changes at a system when one element of its path is replaced.
type Swap struct {
	// Before and After are the steady states at the same pressure of the system.
	Before, After PathState
	// Gain is the effective speed after over before: 1 means that nothing is won.
	Gain float64
}

// Swap compares the path as it is with the same path in which element i, from
// 0, is replaced by another passage, at one pressure of the system. A nil
// passage takes the element out: the most that any replacement could win.
func (p *Path) Swap(i int, with Passage, system units.Pressure) (Swap, error) {
	other, err := p.replaced("vacuum.Path.Swap", i, with)
	if err != nil {
		return Swap{}, err
	}
	var s Swap
	if s.Before, err = p.At(system); err != nil {
		return Swap{}, err
	}
	if s.After, err = other.At(system); err != nil {
		return Swap{}, err
	}
	s.Gain = float64(s.After.Speed / s.Before.Speed)
	return s, nil
}

// replaced is the path with another passage, or none, for element i.
func (p *Path) replaced(fn string, i int, with Passage) (*Path, error) {
	if i < 0 || i >= len(p.Elements) {
		return nil, fmt.Errorf("%s: there is no element %d, accepted 0 to %d", fn, i, len(p.Elements)-1)
	}
	q := *p
	q.Elements = append([]PathElement(nil), p.Elements[:i]...)
	if with != nil {
		q.Elements = append(q.Elements, PathElement{p.Elements[i].Name, with})
	}
	q.Elements = append(q.Elements, p.Elements[i+1:]...)
	return &q, nil
}

// Gain is what one element costs at most.
type Gain struct {
	// Name of the element.
	Name string
	// Gain is the effective speed without the element over the speed with it, at
	// least 1.
	Gain float64
}

// Gains tells for each element of the path how much faster the system would be
// pumped if that element alone were perfect. The largest is what holds you back.
func (p *Path) Gains(system units.Pressure) ([]Gain, error) {
	gains := make([]Gain, len(p.Elements))
	for i := range p.Elements {
		s, err := p.Swap(i, nil, system)
		if err != nil {
			return nil, err
		}
		gains[i] = Gain{p.Elements[i].Name, s.Gain}
	}
	return gains, nil
}

// FitBore is the bore of the one tube of the given length, zero for an orifice,
// with which in place of element i the pull of volume v from start to end
// takes the measured time: a way to describe a hose, a core or a drier by what
// it does to a pull-down of an empty, dry vessel. All other elements and the
// pump are taken as they stand; their errors, and vapour in the vessel, go into
// the bore. It is sought from 0.1 mm to 0.1 m, and is an error when none fits.
func (p *Path) FitBore(i int, length units.Length, v units.Volume, start, end units.Pressure, took time.Duration) (units.Length, error) {
	const fn = "vacuum.Path.FitBore"
	if err := units.CheckRange(fn, "length", float64(length), 0, 1e5, "m"); err != nil {
		return 0, err
	}
	var failed error
	pull := func(bore float64) float64 {
		q, err := p.replaced(fn, i, Passage{{Bore: units.Length(bore), Length: length}})
		if err == nil {
			var seconds float64 // the ends of the search may take longer than a Duration can tell
			if seconds, err = q.seconds(fn, v, start, end); err == nil {
				return seconds
			}
		}
		failed = err
		return math.NaN()
	}
	const narrow, wide = 1e-4, 0.1
	slowest := pull(narrow)
	if failed != nil {
		return 0, fmt.Errorf("%s: %w", fn, failed)
	}
	if err := units.CheckRange(fn, "took", took.Seconds(), pull(wide), slowest, "s"); err != nil {
		return 0, err
	}
	lnBore := risingRoot(func(x float64) float64 { return math.Log(took.Seconds() / pull(math.Exp(x))) }, math.Log(narrow), math.Log(wide))
	return units.Length(math.Exp(lnBore)), failed
}
