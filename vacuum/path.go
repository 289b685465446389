package vacuum

import (
	"fmt"
	"math"
	"time"

	"example.com/drydown/units"
)

// PathElement is one part of the way from a system to its pump.
type PathElement struct {
	Name    string
	Passage Passage
}

// Path is the way from a system to its pump, parts in series with enough room
// between them for the gas to come to rest: what a pure gas does there in a
// steady state, and what holds it back. Other than inside a Passage, the
// pressure between the elements is solved for.
type Path struct {
	// Gas that flows, and its temperature, K, 150 to 600.
	Gas         Gas
	Temperature units.Temperature
	// Elements from the system to the pump. None at all means that the pump sits
	// at the system.
	Elements []PathElement
	// Pump at the end; its Name and Node play no part.
	Pump Pump
	// Ballast is true while its gas ballast is open.
	Ballast bool
}

// PathShare is what one element of a path holds back.
type PathShare struct {
	// Name of the element; "pump" for the last.
	Name string
	// Share of all that stands between the system and unlimited speed, 0 to 1:
	// the element's pressure drop over the pressure at the system, and for the
	// pump the pressure at its inlet. The shares add up to 1.
	Share float64
	// Up and Down are the pressures at its ends, Pa; Down is zero for the pump.
	Up, Down units.Pressure
	// Conductance is flow over pressure drop, m³/s; for the pump its speed.
	Conductance units.Conductance
}

// PathState is a path in steady flow.
type PathState struct {
	// System and Inlet are the pressures at both ends, Pa.
	System, Inlet units.Pressure
	// Flow through the whole path, mol/s.
	Flow units.MolarFlow
	// Speed is the effective speed at the system, m³/s: the volume flow that the
	// pump has left there.
	Speed units.VolumeFlow
	// Shares lists the elements in order and then the pump.
	Shares []PathShare
}

// Check reports the first field out of range.
func (p *Path) Check() error {
	const fn = "vacuum.Path"
	if err := p.Gas.checkAt(fn, p.Temperature); err != nil {
		return err
	}
	for i := range p.Elements {
		if err := p.Elements[i].Passage.Check(); err != nil {
			return fmt.Errorf("%s: element %d %q: %w", fn, i+1, p.Elements[i].Name, err)
		}
	}
	return p.Pump.Check()
}

// At is the steady state with the given pressure at the system, Pa, above the
// pump's blank-off to 20 MPa.
func (p *Path) At(system units.Pressure) (PathState, error) {
	if err := p.Check(); err != nil {
		return PathState{}, err
	}
	floor := float64(p.Pump.blankOff(p.Ballast))
	if err := units.CheckRange("vacuum.Path.At", "system", float64(system), floor*(1+1e-9)+1e-9, maxPressure, "Pa"); err != nil {
		return PathState{}, err
	}
	w := p.walk()
	return w.state(w.flowAt(float64(system)), float64(system)), nil
}

// pathWalk is a path prepared for repeated solution.
type pathWalk struct {
	path *Path
	rt   float64
	laws []law
	up   []float64 // pressure before each element at the flow of the last climb
	down []float64 // and behind it
}

func (p *Path) walk() *pathWalk {
	t := float64(p.Temperature)
	w := &pathWalk{path: p, rt: units.GasConstant * t, laws: make([]law, len(p.Elements))}
	mix := newMixture([]Gas{p.Gas}, t)
	for i := range p.Elements {
		w.laws[i].prepare(p.Elements[i].Passage, mix, t)
	}
	w.up, w.down = make([]float64, len(w.laws)), make([]float64, len(w.laws))
	return w
}

// pumped is the flow of the pump at inlet pressure p, mol/s.
func (w *pathWalk) pumped(p float64) float64 {
	return float64(w.path.Pump.Speed(units.Pressure(p), w.path.Ballast)) * p / w.rt
}

// climb goes from the pump up to the system at flow n and returns the pressures
// at the inlet and at the system. Against the flow there is always an answer,
// choked or not.
func (w *pathWalk) climb(n, most float64) (inlet, system float64) {
	inlet = risingRoot(func(p float64) float64 { return w.pumped(p) - n }, float64(w.path.Pump.blankOff(w.path.Ballast)), most)
	p := inlet
	for i := len(w.laws) - 1; i >= 0; i-- {
		w.down[i] = p
		p = w.before(&w.laws[i], p, n)
		w.up[i] = p
	}
	return inlet, p
}

// before is the pressure that drives flow n through a passage to down.
func (w *pathWalk) before(l *law, down, n float64) float64 {
	var low, high, out [MaxSpecies]float64
	low[0] = down
	flow := func(p float64) float64 {
		high[0] = p
		l.flow(&high, &low, &out)
		return out[0] - n
	}
	step := down/8 + 1e-6
	top := down + step
	for flow(top) < 0 && top < 1e12 {
		step *= 4
		top = down + step
	}
	// In the drop itself, so that a small one is as exact as a large one.
	return down + risingRoot(func(drop float64) float64 { return flow(down + drop) }, 0, top-down)
}

// flowAt is the flow at which the climb ends at the pressure of the system.
func (w *pathWalk) flowAt(system float64) float64 {
	most := w.pumped(system)
	var high, low, out [MaxSpecies]float64
	high[0] = system
	for i := range w.laws { // no element passes more than into a vacuum
		w.laws[i].flow(&high, &low, &out)
		most = math.Min(most, out[0])
	}
	return risingRoot(func(n float64) float64 {
		_, p := w.climb(n, system)
		return p - system
	}, 0, most)
}

// state describes the path at flow n, which the pressure most at the system
// drives.
func (w *pathWalk) state(n, most float64) PathState {
	inlet, system := w.climb(n, most)
	s := PathState{
		System: units.Pressure(system), Inlet: units.Pressure(inlet), Flow: units.MolarFlow(n),
		Speed: units.VolumeFlow(n * w.rt / system),
	}
	for i := range w.laws {
		drop := w.up[i] - w.down[i]
		s.Shares = append(s.Shares, PathShare{
			Name: w.path.Elements[i].Name, Share: drop / system, Up: units.Pressure(w.up[i]), Down: units.Pressure(w.down[i]),
			Conductance: units.Conductance(n * w.rt / drop),
		})
	}
	s.Shares = append(s.Shares, PathShare{
		Name: "pump", Share: inlet / system, Up: s.Inlet, Conductance: units.Conductance(w.path.Pump.Speed(s.Inlet, w.path.Ballast)),
	})
	return s
}

// Time is how long the pump takes to bring a volume v, m³, from start to end
// through the path, the flow being steady at every moment and nothing else
// giving off gas: ∫ V·dp/(S·p), by quadrature over ln p to a few parts in a million. End is
// above the blank-off.
func (p *Path) Time(v units.Volume, start, end units.Pressure) (time.Duration, error) {
	const fn = "vacuum.Path.Time"
	seconds, err := p.seconds(fn, v, start, end)
	if err != nil {
		return 0, err
	}
	return duration(fn, seconds)
}

// seconds is Time on behalf of fn, however long.
func (p *Path) seconds(fn string, v units.Volume, start, end units.Pressure) (float64, error) {
	if err := p.Check(); err != nil {
		return 0, err
	}
	floor := float64(p.Pump.blankOff(p.Ballast))
	err := checkBounds(fn, bound{"v", float64(v), 1e-12, 1e9, "m³"}, bound{"start", float64(start), 1e-6, maxPressure, "Pa"},
		bound{"end", float64(end), floor*(1+1e-9) + 1e-9, float64(start), "Pa"})
	if err != nil {
		return 0, err
	}
	return p.walk().seconds(float64(v), float64(start), float64(end), floor), nil
}

// seconds is the integral of Time over z = ln(p - floor), which takes the pole
// at the floor out of it.
func (w *pathWalk) seconds(v, start, end, floor float64) float64 {
	from, to := math.Log(end-floor), math.Log(start-floor)
	panels := math.Ceil(2 * (to - from))
	h, sum := (to-from)/panels, 0.0
	for i := range int(panels) {
		mid := from + (float64(i)+0.5)*h
		for _, node := range gauss3 {
			above := math.Exp(mid + node.at*h/2)
			sum += node.weight * h / 2 * above / w.flowAt(floor+above)
		}
	}
	return v * sum / w.rt
}
