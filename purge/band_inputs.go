package purge

import (
	"fmt"
	"io"

	"example.com/drydown/units"
)

// Input is a number of a job that is poorly known.
type Input struct {
	// Name says which, for instance "water in low spot".
	Name string
	// Spread is how poorly, as a factor on the job's number.
	Spread Spread
	// Basis says where the spread comes from: "common practice" for the defaults
	// of Job.Inputs, "as given" for those set by SetSpread.
	Basis string
	// Apply multiplies the number by a factor, in copies of the job and of the
	// procedure that it may change.
	Apply func(j *Job, p *Procedure, factor float64)
}

// commonPractice is the basis of the default spreads: nobody has published how
// poorly these are known on site, so they are stated round numbers.
const commonPractice = "common practice"

// Default spreads (common practice). Amounts and heat paths of water are
// guesses on site: within a factor of two either way. The bore of an expansion
// device is nominal: 10 %. Volumes are summed up from data sheets: 10 %. A
// thermal gauge reads within 10 %. How fast oil gives up its water depends on
// how it lies and is stirred: within a factor of three. A leak that is assumed is an assumption.
var (
	guess    = Spread{LogUniform, 0.5, 2}
	slowness = Spread{LogUniform, 1. / 3, 3}
	measured = Spread{Uniform, 0.9, 1.1}
)

// Inputs lists what is poorly known in every job, with default spreads:
//
//   - of each puddle the water, the heat conductance through metal and the
//     surface: half to double, log-uniform;
//   - of each oil the water: half to double, log-uniform, but not more than the
//     oil holds at saturation; and the time of exchange with the gas: a third to
//     three times, log-uniform;
//   - the bore of each capillary and orifice: ± 10 %, uniform;
//   - all volumes together: ± 10 %, uniform;
//   - the gauge's reading: ± 10 %, uniform; a pull then stops, and a ballast is
//     shut, at another pressure than the step says;
//   - the blank-off of the pump: half to double, log-uniform, but below the first
//     point of its curve;
//   - a leak that the job assumes: half to double, log-uniform.
//
// All spreads are common practice, not measured. Inputs are taken to be
// independent of each other.
func (j *Job) Inputs() []Input {
	var in []Input
	add := func(name string, s Spread, apply func(*Job, *Procedure, float64)) {
		in = append(in, Input{name, s, commonPractice, apply})
	}
	for n := range j.Nodes {
		for p := range j.Nodes[n].Puddles {
			here := &j.Nodes[n].Puddles[p]
			puddle := func(j *Job) *JobPuddle { return &j.Nodes[n].Puddles[p] }
			if here.Water > 0 {
				add("water in "+here.Name, guess, func(j *Job, _ *Procedure, f float64) { puddle(j).Water *= units.Mass(f) })
			}
			if here.Metal > 0 {
				add("heat conductance from metal to "+here.Name, guess, func(j *Job, _ *Procedure, f float64) { puddle(j).Metal *= units.HeatConductance(f) })
			}
			add("surface of "+here.Name, guess, func(j *Job, _ *Procedure, f float64) { puddle(j).Area *= units.Area(f) })
		}
		for o := range j.Nodes[n].Oils {
			here := &j.Nodes[n].Oils[o]
			oil := func(j *Job) *JobOil { return &j.Nodes[n].Oils[o] }
			if s := here.waterSpread(); s.Check() == nil {
				add("water in "+here.Name, s, func(j *Job, _ *Procedure, f float64) { oil(j).Water *= units.MassFraction(f) })
			}
			add("time of exchange of "+here.Name, slowness, func(j *Job, _ *Procedure, f float64) {
				oil(j).Exchange = units.Duration(float64(oil(j).Exchange) * f)
			})
		}
	}
	for l := range j.Links {
		for p := range j.Links[l].Passage {
			if bore(&j.Links[l].Passage[p]) != nil {
				add("bore of "+j.Links[l].Name, measured, func(j *Job, _ *Procedure, f float64) { *bore(&j.Links[l].Passage[p]) *= units.Length(f) })
			}
		}
	}
	add("all volumes", measured, scaleVolumes)
	add("reading of the gauge", measured, misread)
	add("blank-off of the pump", j.Pump.blankOffSpread(), func(j *Job, _ *Procedure, f float64) { j.Pump.BlankOff *= units.Pressure(f) })
	if j.Leak != nil {
		add("rate of the leak", guess, func(j *Job, _ *Procedure, f float64) { j.Leak.Rate *= units.Throughput(f) })
	}
	return in
}

// waterSpread is the guess at the water in an oil, cut off where the oil is
// saturated at the wetter of its two points, which a job may not exceed. Dry oil
// has none that could be multiplied.
func (o *JobOil) waterSpread() Spread {
	if o.Water == 0 {
		return Spread{}
	}
	s, most := guess, 0.0
	for _, point := range o.Saturation {
		most = max(most, float64(point.Content/o.Water))
	}
	s.High = min(s.High, most)
	return s
}

// blankOffSpread is the guess at the blank-off, cut off below the curve.
func (p *JobPump) blankOffSpread() Spread {
	s := guess
	if len(p.Curve) > 0 && p.BlankOff > 0 {
		s.High = min(s.High, 0.98*float64(p.Curve[0].Pressure/p.BlankOff))
	}
	return s
}

// bore is the bore of an expansion device, nil for any other part.
func bore(p *JobPart) *units.Length {
	switch {
	case p.Capillary != nil:
		return &p.Capillary.Bore
	case p.Orifice != nil:
		return &p.Orifice.Bore
	}
	return nil
}

func scaleVolumes(j *Job, _ *Procedure, f float64) {
	for n := range j.Nodes {
		j.Nodes[n].Volume *= units.Volume(f)
	}
}

// misread lets the gauge show f times the true pressure: what a step says is
// then reached at the pressure it says over f. Steps that watch another node
// are not decided by the gauge and stay.
func misread(j *Job, p *Procedure, f float64) {
	ambient, err := j.Site.Ambient()
	if err != nil {
		return // the run refuses the job with this error
	}
	truly := func(r *units.PressureReading) {
		if r.IsZero() {
			return
		}
		if shown, err := r.Absolute(ambient); err == nil { // else the run refuses the step
			*r = units.AbsoluteReading(shown / units.Pressure(f))
		}
	}
	j.Gauge.Bottom /= units.Pressure(f) // what it can show goes with what it shows
	j.Gauge.Ceiling /= units.Pressure(f)
	for i := range p.Steps {
		if pull := p.Steps[i].Pull; pull != nil {
			if pull.At == "" || pull.At == j.Gauge.Node {
				truly(&pull.Until)
			}
			truly(&pull.BallastAbove)
		}
	}
}

// NamedSpread gives an input another spread.
type NamedSpread struct {
	// Input is the name of the input as Job.Inputs has it.
	Input string `json:"input"`
	Spread
}

// ReadSpreads reads a JSON list of spreads, such as
//
//	{"spreads": [{"input": "water in low spot", "kind": "lognormal", "low": 0.3, "high": 3}]}
//
// An error names what is wrong; errors.Is(err, ErrJob) holds for it.
func ReadSpreads(r io.Reader) ([]NamedSpread, error) {
	var file struct {
		Spreads []struct {
			Input string     `json:"input"`
			Kind  SpreadKind `json:"kind"`
			Low   float64    `json:"low"`
			High  float64    `json:"high"`
		} `json:"spreads"`
	}
	if err := decode(r, &file); err != nil {
		return nil, err
	}
	var out []NamedSpread
	for i, s := range file.Spreads {
		n := NamedSpread{s.Input, Spread{s.Kind, s.Low, s.High}}
		if err := n.Check(); err != nil {
			return nil, fmt.Errorf("%w: spreads[%d] %q: %w", ErrJob, i+1, s.Input, err)
		}
		out = append(out, n)
	}
	return out, nil
}

// SetSpread replaces the spread of the input of that name; its basis becomes
// "as given". A name that is not there is an error that lists those that are.
func SetSpread(inputs []Input, s NamedSpread) error {
	if err := s.Check(); err != nil {
		return fmt.Errorf("%q: %w", s.Input, err)
	}
	names := ""
	for i := range inputs {
		if inputs[i].Name == s.Input {
			inputs[i].Spread, inputs[i].Basis = s.Spread, "as given"
			return nil
		}
		if i > 0 {
			names += ", "
		}
		names += fmt.Sprintf("%q", inputs[i].Name)
	}
	return fmt.Errorf("%w: there is no input %q, there are %s", ErrJob, s.Input, names)
}
