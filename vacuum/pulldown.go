package vacuum

import (
	"fmt"
	"math"
	"time"

	"example.com/drydown/units"
)

// PullDown is a volume pumped from one pressure to another at constant speed
// and temperature: the textbook case. A circuit with stores needs a Simulation.
type PullDown struct {
	// Volume in m³, above 0.
	Volume units.Volume
	// Speed of the pump, m³/s, above 0.
	Speed units.VolumeFlow
	// BlankOff is the lowest pressure the pump reaches, Pa; zero is ideal.
	BlankOff units.Pressure
	// Load is a steady leak or gas source, Pa·m³/s; zero means none.
	Load units.Throughput
	// Start and End are the pressures, Pa, Start above End above the floor.
	Start, End units.Pressure
}

// Floor is BlankOff + Load/Speed, where the pull ends; without Load it is BlankOff
// at any Speed. It checks nothing: a Load at Speed zero makes it infinite.
func (p *PullDown) Floor() units.Pressure {
	if p.Load == 0 {
		return p.BlankOff
	}
	return p.BlankOff + units.Pressure(float64(p.Load)/float64(p.Speed))
}

// check checks the fields on behalf of fn.
func (p *PullDown) check(fn string) error {
	if err := p.checkStart(fn); err != nil {
		return err
	}
	if err := units.CheckRange(fn, "End", float64(p.End), 1e-12, float64(p.Start), "Pa"); err != nil {
		return err
	}
	return p.checkAbove(fn, "End", p.End)
}

// checkStart checks all fields but End.
func (p *PullDown) checkStart(fn string) error {
	return checkBounds(fn,
		bound{"Volume", float64(p.Volume), 1e-12, 1e9, "m³"},
		bound{"Speed", float64(p.Speed), 1e-15, 1e6, "m³/s"},
		bound{"BlankOff", float64(p.BlankOff), 0, 1e5, "Pa"},
		bound{"Load", float64(p.Load), 0, 1e6, "Pa·m³/s"},
		bound{"Start", float64(p.Start), 1e-12, maxPressure, "Pa"})
}

// checkAbove checks that a pressure lies above the floor.
func (p *PullDown) checkAbove(fn, arg string, at units.Pressure) error {
	if floor := p.Floor(); !(at > floor) {
		return fmt.Errorf("%s: %s = %g Pa is not above the floor %g Pa (blank-off %g Pa, leak over speed %g Pa): %w",
			fn, arg, float64(at), float64(floor), float64(p.BlankOff), float64(floor-p.BlankOff), units.ErrOutOfRange)
	}
	return nil
}

// Time is (V/S)·ln[(Start - floor)/(End - floor)] (Umrath, Fundamentals of
// Vacuum Technology, text to Fig. 9.7). It is an error when End is not above
// the floor, and the error names what sets the floor.
func (p *PullDown) Time() (time.Duration, error) { return p.time("vacuum.PullDown.Time") }

func (p *PullDown) time(fn string) (time.Duration, error) {
	if err := p.check(fn); err != nil {
		return 0, err
	}
	floor := p.Floor()
	return duration(fn, float64(p.Volume)/float64(p.Speed)*math.Log(float64((p.Start-floor)/(p.End-floor))))
}

// TimeThrough is Time with the constant conductance c, m³/s, at least 1e-15,
// between volume and pump. The floor is that of the effective speed.
func (p *PullDown) TimeThrough(c units.Conductance) (time.Duration, error) {
	const fn = "vacuum.PullDown.TimeThrough"
	err := checkBounds(fn, bound{"Speed", float64(p.Speed), 1e-15, 1e6, "m³/s"}, bound{"c", float64(c), 1e-15, math.MaxFloat64, "m³/s"})
	if err != nil {
		return 0, err
	}
	s, err := EffectiveSpeed(p.Speed, c)
	if err != nil {
		return 0, err
	}
	behind := *p
	behind.Speed = s
	return behind.time(fn)
}

// TimeThroughTube is the time through a long tube in laminar flow with the pump
// behind it, both without floor: BlankOff and Load must be zero. With K =
// πd⁴/(256µL) the flow K(p²-p2²) = S·p2 leads to t = (V/S)·[G(u0) - G(u1)],
// u = 2Kp/S, G(u) = asinh(u) - (1 + √(1+u²))/u. There is no slip in it: below
// about 100 Pa in a 4 mm bore the real pull is faster. bore, length and mu as in
// LaminarConductance.
func (p *PullDown) TimeThroughTube(bore, length units.Length, mu units.Viscosity) (time.Duration, error) {
	const fn = "vacuum.PullDown.TimeThroughTube"
	if err := p.check(fn); err != nil {
		return 0, err
	}
	err := checkBounds(fn, bound{"BlankOff", float64(p.BlankOff), 0, 0, "Pa"}, bound{"Load", float64(p.Load), 0, 0, "Pa·m³/s"})
	if err != nil {
		return 0, err
	}
	k, err := tubeFactor(fn, bore, length, mu)
	if err != nil {
		return 0, err
	}
	g := func(u float64) float64 { return math.Asinh(u) - (1+math.Sqrt(1+u*u))/u }
	perPressure := 2 * k / float64(p.Speed)
	return duration(fn, float64(p.Volume)/float64(p.Speed)*(g(perPressure*float64(p.Start))-g(perPressure*float64(p.End))))
}

// LaminarTubeTime is the time (V/K)·(1/end - 1/start) in which volume v empties
// through a long tube in laminar flow into a perfect vacuum, K = πd⁴/(256µL). v is
// 1e-12 to 1e9 m³, start 1e-12 Pa to 20 MPa, end 1e-12 Pa to start; bore, length
// and mu as in LaminarConductance.
func LaminarTubeTime(v units.Volume, bore, length units.Length, mu units.Viscosity, start, end units.Pressure) (time.Duration, error) {
	const fn = "vacuum.LaminarTubeTime"
	k, err := emptying(fn, v, bore, length, mu, start, end)
	if err != nil {
		return 0, err
	}
	return duration(fn, float64(v)/k*(1/float64(end)-1/float64(start)))
}

// KnudsenTubeTime is the same with the conductance of KnudsenConductance, by
// quadrature over the logarithm of the pressure, relative error below 1e-9, at t,
// 150 to 600 K. v, bore, length, start and end as there.
func KnudsenTubeTime(v units.Volume, bore, length units.Length, gas Gas, t units.Temperature, start, end units.Pressure) (time.Duration, error) {
	const fn = "vacuum.KnudsenTubeTime"
	if err := gas.checkAt(fn, t); err != nil {
		return 0, err
	}
	if _, err := emptying(fn, v, bore, length, gas.ViscosityLaw(t), start, end); err != nil {
		return 0, err
	}
	lnStart, lnEnd := math.Log(float64(start)), math.Log(float64(end))
	panels := 8 * math.Ceil(1+lnStart-lnEnd)
	h := (lnStart - lnEnd) / panels
	sum := 0.0
	for i := range int(panels) {
		mid := lnEnd + (float64(i)+0.5)*h
		for _, node := range gauss3 {
			p := math.Exp(mid + node.at*h/2)
			c, err := KnudsenConductance(bore, length, gas, units.Pressure(p/2), t)
			if err != nil {
				return 0, err
			}
			sum += node.weight * h / 2 / float64(c)
		}
	}
	return duration(fn, float64(v)*sum)
}

// gauss3 is the three-point rule of Gauss and Legendre on -1 to 1; read-only.
var gauss3 = [3]struct{ at, weight float64 }{
	{-0.7745966692414834, 5.0 / 9}, {0, 8.0 / 9}, {0.7745966692414834, 5.0 / 9},
}

// emptying checks the arguments of a tube-limited pull and returns its K.
func emptying(fn string, v units.Volume, bore, length units.Length, mu units.Viscosity, start, end units.Pressure) (float64, error) {
	err := checkBounds(fn, bound{"v", float64(v), 1e-12, 1e9, "m³"}, bound{"start", float64(start), 1e-12, maxPressure, "Pa"},
		bound{"end", float64(end), 1e-12, float64(start), "Pa"})
	if err != nil {
		return 0, err
	}
	return tubeFactor(fn, bore, length, mu)
}

// tubeFactor is πd⁴/(256µL), m³/(Pa·s).
func tubeFactor(fn string, bore, length units.Length, mu units.Viscosity) (float64, error) {
	if err := checkBounds(fn, boreBound(bore), lengthBound(length), viscosityBound(mu)); err != nil {
		return 0, err
	}
	d := float64(bore)
	return math.Pi * d * d * d * d / (256 * float64(mu) * float64(length)), nil
}

// duration turns seconds into a time, or says that they are too many.
func duration(fn string, seconds float64) (time.Duration, error) {
	const most = 9.2e9 // 292 years
	if err := units.CheckRange(fn, "time", seconds, 0, most, "s"); err != nil {
		return 0, err
	}
	return time.Duration(seconds * float64(time.Second)), nil
}

// BallastTolerance is the water vapour tolerance (B/S)·pn·(ps - pa)/(pn - ps),
// Pa (ISO 21360-2 clause 5.3; Umrath sec. 2.1.2.2.4, from memory). share is the
// ballast's volume flow over the pump's, 0 to 1; exhaust is the pressure pn at
// the exhaust, saturation ps the one of water at the exhaust temperature,
// ambient pa that of the vapour in the ballast air: pa <= ps < pn.
func BallastTolerance(share float64, exhaust, saturation, ambient units.Pressure) (units.Pressure, error) {
	err := checkBounds("vacuum.BallastTolerance", bound{"share", share, 0, 1, ""},
		bound{"exhaust", float64(exhaust), 1e3, 1e6, "Pa"},
		bound{"saturation", float64(saturation), 1, 0.999 * float64(exhaust), "Pa"},
		bound{"ambient", float64(ambient), 0, float64(saturation), "Pa"})
	if err != nil {
		return 0, err
	}
	return units.Pressure(share) * exhaust * (saturation - ambient) / (exhaust - saturation), nil
}

// VapourCapacity is the water S·p·M/(R·T) in kg/s that a pump of speed s draws
// at inlet pressure p of pure vapour at temperature t: s is 0 to 1e6 m³/s, p 0 to
// 1 MPa, t 1 to 5000 K.
func VapourCapacity(s units.VolumeFlow, p units.Pressure, t units.Temperature) (units.MassFlow, error) {
	const fn = "vacuum.VapourCapacity"
	err := checkBounds(fn, bound{"s", float64(s), 0, 1e6, "m³/s"}, bound{"p", float64(p), 0, 1e6, "Pa"}, temperatureBound(t))
	if err != nil {
		return 0, err
	}
	m := float64(WaterVapour().MolarMass)
	return units.MassFlow(float64(s) * float64(p) * m / (units.GasConstant * float64(t))), nil
}

// IsothermalDryingTime is the time m·R·T/(M·S·p) in which speed s draws off a
// mass of free water that keeps the vapour at its saturation pressure p. It is
// a lower bound: real water cools, its pressure falls, and what warms it up
// again sets the time. mass is 0 to 1e6 kg, s 1e-12 to 1e6 m³/s, p 1e-6 Pa to
// 1 MPa, t 1 to 5000 K.
func IsothermalDryingTime(mass units.Mass, s units.VolumeFlow, p units.Pressure, t units.Temperature) (time.Duration, error) {
	const fn = "vacuum.IsothermalDryingTime"
	err := checkBounds(fn, bound{"mass", float64(mass), 0, 1e6, "kg"}, bound{"s", float64(s), 1e-12, 1e6, "m³/s"},
		bound{"p", float64(p), 1e-6, 1e6, "Pa"})
	if err != nil {
		return 0, err
	}
	capacity, err := VapourCapacity(s, p, t)
	if err != nil {
		return 0, err
	}
	return duration(fn, float64(mass)/float64(capacity))
}
