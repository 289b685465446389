package purge

import (
	"fmt"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// JobPump is the vacuum pump.
type JobPump struct {
	// Node names the node at its inlet.
	Node string `json:"node"`
	// Valve names the link that is shut between pumping; empty means that the
	// pump is merely stopped, and its node stays joined to the circuit.
	Valve string `json:"valve,omitempty"`
	// Displacement at the inlet, m³/s, or Curve, its speed as measured with the
	// ballast closed; exactly one is needed.
	Displacement units.VolumeFlow `json:"displacement,omitempty"`
	Curve        []JobSpeed       `json:"curve,omitempty"`
	// BlankOff is the lowest pressure with the ballast closed, Pa, 0 to 1e5; at
	// most 99 % of the first pressure of a curve.
	BlankOff units.Pressure `json:"blank_off"`
	// BallastBlankOff is the same with the ballast open, Pa, BlankOff to 1e5; zero
	// means BlankOff.
	BallastBlankOff units.Pressure `json:"ballast_blank_off,omitempty"`
	// VapourTolerance with the ballast open, Pa, 0 to 1e5; zero means none.
	VapourTolerance units.Pressure `json:"vapour_tolerance,omitempty"`
	// ExhaustTemperature is where vapour would condense in the pump, K, 273.16 to
	// 373 and below boiling at ambient pressure; zero means 333.15 K (60 °C).
	ExhaustTemperature units.Temperature `json:"exhaust_temperature,omitempty"`
	// Return names the gas that comes back at the blank-off: "air" (empty means
	// that too), "nitrogen", or "none" for a pump that shuts there.
	Return string `json:"return,omitempty"`
	// Oil follows the water in the pump's oil and what it does to the blank-off;
	// nil means that water kept back by the pump is counted and lifts nothing.
	Oil *JobPumpOil `json:"oil,omitempty"`
}

// JobSpeed is one measured point of a pump.
type JobSpeed struct {
	Pressure units.Pressure   `json:"pressure"` // at the inlet, Pa, rising from point to point
	Speed    units.VolumeFlow `json:"speed"`    // m³/s, above 0
}

// JobPumpOil is the oil of the pump, taken to be well mixed and in equilibrium
// with the gas at the inlet: vacuum.PumpOil with Approach 1.
type JobPumpOil struct {
	// Mass of the oil without its water, kg, 0.01 to 1000.
	Mass units.Mass `json:"mass"`
	// Water per oil at the start, 0 to 0.1 kg/kg; zero means dry.
	Water units.MassFraction `json:"water,omitempty"`
	// Saturation is the water per oil at saturation at two temperatures, from
	// the oil's data sheet.
	Saturation []JobSaturation `json:"saturation"`
	// Temperature of the oil while the pump runs, K, 273.16 to 373; zero means
	// 333.15 K (60 °C).
	Temperature units.Temperature `json:"temperature,omitempty"`
}

// JobGauge is the vacuum gauge.
type JobGauge struct {
	// Node names the node it reads.
	Node string `json:"node"`
	// Valve names the link in front of the gauge that is open only while the
	// pump runs and while the circuit is watched; empty means none. Node is then
	// the small volume behind that valve.
	Valve string `json:"valve,omitempty"`
	// Resolution is the step of its display, Pa, 0 to 1e5. Ceiling is the highest
	// pressure it shows, Pa, from the pump's blank-off to 20 MPa, and Bottom the
	// lowest, 0 to 1e5 Pa and below Ceiling. Zero means that it has none.
	Resolution units.Pressure `json:"resolution,omitempty"`
	Ceiling    units.Pressure `json:"ceiling,omitempty"`
	Bottom     units.Pressure `json:"bottom,omitempty"`
	// Thermal is true for a thermal conductivity gauge set up for air: it reads
	// water vapour about twice too high (vacuum.ThermalSensitivity), and a pull
	// ends by what it shows. False means that it reads the true pressure.
	Thermal bool `json:"thermal,omitempty"`
}

// ScaleSpeed multiplies displacement and curve by a factor, which is not checked:
// with one that is not above 0, or NaN, Job.Check and Run refuse the job.
func (p *JobPump) ScaleSpeed(factor float64) {
	p.Displacement *= units.VolumeFlow(factor)
	for i := range p.Curve {
		p.Curve[i].Speed *= units.VolumeFlow(factor)
	}
}

// bounds are the ranges of a pump's numbers, those of vacuum.Pump and
// vacuum.PumpOil under the job's names.
func (p *JobPump) bounds() []bound {
	b := []bound{
		{"pump.blank_off", float64(p.BlankOff), 0, 1e5, "Pa"},
		{"pump.vapour_tolerance", float64(p.VapourTolerance), 0, 1e5, "Pa"},
	}
	if s := p.Displacement; s != 0 {
		b = append(b, bound{"pump.displacement", float64(s), 1e-9, 1e3, "m³/s"})
	}
	if low := p.BallastBlankOff; low != 0 {
		b = append(b, bound{"pump.ballast_blank_off", float64(low), float64(p.BlankOff), 1e5, "Pa"})
	}
	if t := p.ExhaustTemperature; t != 0 {
		b = append(b, celsiusBound("pump.exhaust_temperature", t, 273.16, 373))
	}
	for i, s := range p.Curve {
		path := fmt.Sprintf("pump.curve[%d]", i+1)
		b = append(b, bound{path + ".pressure", float64(s.Pressure), 1e-3, 1e6, "Pa"}, bound{path + ".speed", float64(s.Speed), 1e-9, 1e3, "m³/s"})
	}
	if o := p.Oil; o != nil {
		b = append(b, bound{"pump.oil.mass", float64(o.Mass), 0.01, 1000, "kg"}, bound{"pump.oil.water", float64(o.Water), 0, 0.1, "kg/kg"})
		if o.Temperature != 0 {
			b = append(b, celsiusBound("pump.oil.temperature", o.Temperature, 273.16, 373))
		}
	}
	return b
}

// check refuses what of a pump's numbers does not go together.
func (p *JobPump) check(ambient units.Pressure) error {
	switch {
	case (p.Displacement == 0) == (len(p.Curve) == 0):
		return fmt.Errorf("pump: exactly one of displacement and curve is needed")
	case len(p.Curve) == 1:
		return fmt.Errorf("pump.curve: one point, two or more are needed")
	}
	for i := range p.Curve {
		if now := p.Curve[i].Pressure; i > 0 && now < p.Curve[i-1].Pressure*(1+1e-6) {
			return fmt.Errorf("pump.curve[%d].pressure = %.9g Pa, accepted above %.9g Pa, that of the point before: %w",
				i+1, float64(now), float64(p.Curve[i-1].Pressure), units.ErrOutOfRange)
		}
	}
	if len(p.Curve) > 0 && p.BlankOff > p.Curve[0].Pressure*99/100 {
		return fmt.Errorf("pump.blank_off = %.6g Pa, accepted at most 99 %% of pump.curve[1].pressure, which is %.6g Pa: %w",
			float64(p.BlankOff), float64(p.Curve[0].Pressure), units.ErrOutOfRange)
	}
	if p.ExhaustTemperature == 0 {
		return nil
	}
	if boil, err := moisture.SaturationPressureLiquid(p.ExhaustTemperature); err == nil && boil >= ambient { // else vacuum.Pump refuses it
		return fmt.Errorf("pump.exhaust_temperature = %v, accepted below boiling at the site's %.6g Pa: %w", p.ExhaustTemperature, float64(ambient), units.ErrOutOfRange)
	}
	return nil
}

// build turns the pump into one that exhausts against ambient, stopped.
func (p *JobPump) build(ambient units.Pressure) (vacuum.Pump, error) {
	out := vacuum.Pump{
		Name: pumpName, Node: p.Node, Displacement: p.Displacement, BlankOff: p.BlankOff,
		BallastBlankOff: p.BallastBlankOff, VapourTolerance: p.VapourTolerance, Return: p.Return,
		ExhaustPressure: ambient, ExhaustTemperature: p.ExhaustTemperature, Stopped: true,
	}
	switch p.Return {
	case "", "air", "nitrogen", vacuum.NoReturn:
	default:
		return out, fmt.Errorf("pump.return: %q is not known, accepted are air, nitrogen, %s", p.Return, vacuum.NoReturn)
	}
	if err := p.check(ambient); err != nil {
		return out, err
	}
	if len(p.Curve) > 0 {
		var points []vacuum.SpeedPoint
		for _, s := range p.Curve {
			points = append(points, vacuum.SpeedPoint{Pressure: s.Pressure, Speed: s.Speed})
		}
		curve, err := vacuum.NewSpeedCurve(points...)
		if err != nil {
			return out, fmt.Errorf("pump.curve: %w", err)
		}
		out.Curve = curve
	}
	if p.Oil != nil {
		law, err := fitSaturation(p.Oil.Saturation)
		if err != nil {
			return out, fmt.Errorf("pump.oil.%w", err)
		}
		out.Oil = &vacuum.PumpOil{Mass: p.Oil.Mass, WaterContent: p.Oil.Water, Law: law, Temperature: p.Oil.Temperature}
	}
	return out, nil
}

// lastDigits is by how much two pressures may differ, of themselves, that were
// meant to be the same and stated in different units.
const lastDigits = 1e-9

// check refuses a gauge that shows nothing. Ranges of the numbers are in bounds.
func (g *JobGauge) check() error {
	if g.Ceiling > 0 && g.Bottom >= g.Ceiling*(1-lastDigits) {
		return fmt.Errorf("gauge.bottom %s is not below gauge.ceiling of %s", g.Bottom.WithMicron(), g.Ceiling.WithMicron())
	}
	return nil
}

// canShow refuses a pressure, Pa, that the gauge does not show; of a thermal
// gauge it is the one shown.
func (g *JobGauge) canShow(p units.Pressure) error {
	switch {
	case p < g.Bottom*(1-lastDigits):
		return fmt.Errorf("%s is below gauge.bottom of %s", p.WithMicron(), g.Bottom.WithMicron())
	case g.Ceiling > 0 && p > g.Ceiling*(1+lastDigits):
		return fmt.Errorf("%s is above gauge.ceiling of %s", p.WithMicron(), g.Ceiling.WithMicron())
	}
	return nil
}

// build turns the gauge into one of a circuit.
func (g *JobGauge) build() vacuum.Gauge {
	out := vacuum.Gauge{Name: gaugeName, Node: g.Node, Resolution: g.Resolution, Ceiling: g.Ceiling, Bottom: g.Bottom}
	if g.Thermal {
		out.Thermal = &vacuum.ThermalResponse{}
	}
	return out
}

// fitSaturation is the law through the two points that a job states.
func fitSaturation(s []JobSaturation) (law moisture.SaturationLaw, err error) {
	if len(s) != 2 {
		return law, fmt.Errorf("saturation: %d points, two are needed", len(s))
	}
	var points [2]moisture.SaturationPoint
	for i := range s {
		points[i] = moisture.SaturationPoint{Temperature: s[i].Temperature, Content: s[i].Content}
	}
	if law, err = moisture.FitSaturation(points[0], points[1]); err != nil {
		return law, fmt.Errorf("saturation: %w", err)
	}
	return law, nil
}
