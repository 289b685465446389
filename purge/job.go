package purge

import (
	"fmt"
	"io"
	"math"

	"example.com/drydown/units"
)

// Job is everything that a person knows about one evacuation: the site, the
// circuit and the rig on it, and the procedures to choose between. Its JSON
// form writes every quantity as text with its unit; ReadJob reads it.
type Job struct {
	// Name and Note are free text; a note says where the numbers come from.
	Name string `json:"name"`
	Note string `json:"note,omitempty"`
	// Site is the place and its air.
	Site Site `json:"site"`
	// Charge is the refrigerant charge, kg; zero means not known, and water is
	// then not stated per charge.
	Charge units.Mass `json:"charge,omitempty"`
	// DrynessLimit is the water allowed per charge; zero means none stated.
	DrynessLimit units.MassFraction `json:"dryness_limit,omitempty"`
	// LeakLimit is the largest leak allowed into the evacuated circuit,
	// Pa·m³/s; zero means none stated.
	LeakLimit units.Throughput `json:"leak_limit,omitempty"`
	// Rating is the highest pressure that the weakest part may see. It is
	// needed as soon as a procedure raises the pressure.
	Rating units.PressureReading `json:"rating,omitzero"`
	// System names the node whose pressure is "the system"; empty means the
	// first node.
	System string `json:"system,omitempty"`
	// Nodes are the volumes, at least one.
	Nodes []JobNode `json:"nodes"`
	// Links join them.
	Links []JobLink `json:"links"`
	// Pump, Gauge, Nitrogen, Vent and Leak are attached to nodes. Nitrogen,
	// Vent and Leak may be left out.
	Pump     JobPump      `json:"pump"`
	Gauge    JobGauge     `json:"gauge"`
	Nitrogen *JobNitrogen `json:"nitrogen,omitempty"`
	Vent     *JobVent     `json:"vent,omitempty"`
	Leak     *JobLeak     `json:"leak,omitempty"`
	// Procedures to run, at least one.
	Procedures []Procedure `json:"procedures"`
}

// Site is the place where the job is done.
type Site struct {
	// Altitude or Barometer gives the ambient pressure; exactly one is needed.
	Altitude  *units.Length   `json:"altitude,omitempty"`
	Barometer *units.Pressure `json:"barometer,omitempty"`
	// Temperature of the air and of everything that has no other, K.
	Temperature units.Temperature `json:"temperature"`
	// Humidity is the relative humidity of the air, over ice below 0 °C.
	Humidity units.RelativeHumidity `json:"humidity"`
}

// JobNode is a volume of the circuit or the rig.
type JobNode struct {
	// Name is the node's handle, unique and not empty; "ambient" is taken.
	Name string `json:"name"`
	// Volume of the gas space, m³, above 0.
	Volume units.Volume `json:"volume"`
	// Temperature, when it is not the site's.
	Temperature *units.Temperature `json:"temperature,omitempty"`
	// Holds is what the node is filled with at the start: "air" (empty means
	// that too: humid air of the site), "nitrogen" (dry, at ambient pressure) or
	// "vacuum" (1 Pa of air). In a node colder than the air's dew point the air is
	// saturated; the water that condensed is not in the circuit unless Puddles state
	// it, and Record.Warnings says how much that is.
	Holds string `json:"holds,omitempty"`
	// Puddles are spots of free water.
	Puddles []JobPuddle `json:"puddles,omitempty"`
	// Oils are charges of oil with water dissolved in them.
	Oils []JobOil `json:"oils,omitempty"`
}

// JobOil is oil that holds dissolved water and gives it up slowly. There are no
// built-in properties: the water that the oil holds at saturation and the time
// of exchange are the writer's to know.
type JobOil struct {
	// Name of the store, unique among all puddles and oils.
	Name string `json:"name"`
	// Mass of the oil without its water, kg.
	Mass units.Mass `json:"mass"`
	// Water per oil at the start.
	Water units.MassFraction `json:"water"`
	// Saturation is the water per oil at saturation at two temperatures, from
	// the oil's data sheet.
	Saturation []JobSaturation `json:"saturation"`
	// Exchange is the time in which the distance from equilibrium with the gas
	// falls to 1/e: minutes for a thin or stirred film, hours to days for a deep
	// sump at rest (common practice).
	Exchange units.Duration `json:"exchange"`
}

// JobSaturation is one point of an oil's saturation.
type JobSaturation struct {
	// Temperature of the point, K.
	Temperature units.Temperature `json:"temperature"`
	// Content is the water per oil there, above 0 to 0.1.
	Content units.MassFraction `json:"content"`
}

// JobPuddle is free water at one spot.
type JobPuddle struct {
	// Name of the store, unique among all puddles and oils.
	Name string `json:"name"`
	// Water at the start, kg, liquid.
	Water units.Mass `json:"water"`
	// Area of its surface, m², above 0.
	Area units.Area `json:"area"`
	// Metal is the heat conductance through metal to the water, W/K. It and Gap
	// must not both be zero.
	Metal units.HeatConductance `json:"metal,omitempty"`
	// Gap is the width of the gas space that carries heat besides, m; zero means
	// none.
	Gap units.Length `json:"gap,omitempty"`
	// Film is the thickness of still gas above the water, m; zero means Bore
	// over 3.66.
	Film units.Length `json:"film,omitempty"`
	// Bore of the channel around it, for the film of a sweep, m; zero means
	// that a sweep does not thin the film. Film and Bore must not both be zero.
	Bore units.Length `json:"bore,omitempty"`
	// Fade is the mass over which the last of it fades out, kg; zero means the
	// default of moisture.Puddle.
	Fade units.Mass `json:"fade,omitempty"`
}

// JobLink joins two nodes.
type JobLink struct {
	// Name is the link's handle, unique and not empty; "vent" and "leak" are
	// taken where the job has them.
	Name string `json:"name"`
	// From and To name two nodes.
	From string `json:"from"`
	To   string `json:"to"`
	// Passage lists what the gas passes in series, at least one part.
	Passage []JobPart `json:"passage"`
	// Closed keeps the link shut until a changeover opens it.
	Closed bool `json:"closed,omitempty"`
}

// JobPart is one part of a passage; exactly one field is given.
type JobPart struct {
	Tube      *JobTube    `json:"tube,omitempty"`       // line or pipe
	Hose      *JobTube    `json:"hose,omitempty"`       // hose with its couplings
	Capillary *JobTube    `json:"capillary,omitempty"`  // expansion device
	Orifice   *JobOrifice `json:"orifice,omitempty"`    // expansion orifice or nearly closed valve
	BallValve *JobTube    `json:"ball_valve,omitempty"` // full-bore valve
	ValveCore *JobCore    `json:"valve_core,omitempty"` // access valve with its core in
	CoreTool  *JobTool    `json:"core_tool,omitempty"`  // core removal tool
}

// JobTube is a round passage.
type JobTube struct {
	Bore   units.Length `json:"bore"`   // inner diameter, m, above 0
	Length units.Length `json:"length"` // m, 0 or more
}

// JobOrifice is a passage without length.
type JobOrifice struct {
	Bore units.Length `json:"bore"` // diameter, m, above 0
}

// JobCore is an access valve with its core in place and depressed.
type JobCore struct{}

// JobTool is a core removal tool.
type JobTool struct {
	// CoreIn is true while the core is still in its seat.
	CoreIn bool `json:"core_in,omitempty"`
}

// JobNitrogen is the supply of dry nitrogen.
type JobNitrogen struct {
	// Node names the node it enters.
	Node string `json:"node"`
	// Flow is the rate used where a step states none, mol/s, above 0 to 10.
	Flow units.MolarFlow `json:"flow"`
	// Moisture of the gas; zero means perfectly dry.
	Moisture units.MoleFraction `json:"moisture,omitempty"`
}

// JobVent is the way out into the open air for sweeps and bleeding.
type JobVent struct {
	// Node names the node it leads out of.
	Node string `json:"node"`
	// Passage lists what the gas passes in series, at least one part.
	Passage []JobPart `json:"passage"`
}

// JobLeak is a leak that the circuit is taken to have.
type JobLeak struct {
	// Node names the node that the air leaks into.
	Node string `json:"node"`
	// Rate into vacuum at the node's temperature, Pa·m³/s, above 0. The leak is
	// taken to be laminar.
	Rate units.Throughput `json:"rate"`
}

// ReadJob reads a job in JSON and checks it. The error names the field, the
// value and what is accepted; errors.Is(err, ErrJob) holds for everything that
// is wrong with the text, units.ErrOutOfRange besides when a value is out of
// range.
func ReadJob(r io.Reader) (*Job, error) {
	var j Job
	if err := decode(r, &j); err != nil {
		return nil, err
	}
	if err := j.Check(); err != nil {
		return nil, err
	}
	return &j, nil
}

// Ambient is the ambient pressure at the site, Pa.
func (s *Site) Ambient() (units.Pressure, error) {
	switch {
	case s.Altitude != nil && s.Barometer != nil:
		return 0, fmt.Errorf("site: give altitude or barometer, not both")
	case s.Altitude != nil:
		return units.StandardAtmosphere(*s.Altitude)
	case s.Barometer != nil:
		return *s.Barometer, units.CheckRange("", "barometer", float64(*s.Barometer), 3e4, 1.2e5, "Pa")
	}
	return 0, fmt.Errorf("site: altitude or barometer is missing, for instance \"altitude\": \"250 m\"")
}

// bound is one number of a job with its accepted range.
type bound struct {
	path   string
	v      float64
	lo, hi float64
	unit   string
}

// celsiusBound is the range lo to hi, K, of a temperature, worded in °C as a job
// states it.
func celsiusBound(path string, t units.Temperature, lo, hi units.Temperature) bound {
	return bound{path, t.Celsius(), lo.Celsius(), hi.Celsius(), "°C"}
}

// bounds are the ranges that the parts themselves do not check, or not under
// the job's names.
func (j *Job) bounds() []bound {
	b := []bound{
		celsiusBound("site.temperature", j.Site.Temperature, 223.15, 333.15),
		{"site.humidity", float64(j.Site.Humidity), 0, 1, ""},
		{"charge", float64(j.Charge), 0, 1e6, "kg"},
		{"dryness_limit", float64(j.DrynessLimit), 0, 1, ""},
		{"leak_limit", float64(j.LeakLimit), 0, 1e3, "Pa·m³/s"},
		{"gauge.resolution", float64(j.Gauge.Resolution), 0, 1e5, "Pa"},
	}
	b = append(b, j.Pump.bounds()...)
	if p := j.Gauge.Ceiling; p != 0 {
		b = append(b, bound{"gauge.ceiling", float64(p), float64(j.Pump.BlankOff), 20e6, "Pa"})
	}
	if p := j.Gauge.Bottom; p != 0 {
		b = append(b, bound{"gauge.bottom", float64(p), 0, 1e5, "Pa"})
	}
	if n := j.Nitrogen; n != nil {
		b = append(b, bound{"nitrogen.flow", float64(n.Flow), math.SmallestNonzeroFloat64, 10, "mol/s"})
	}
	if l := j.Leak; l != nil {
		b = append(b, bound{"leak.rate", float64(l.Rate), 1e-15, 1e3, "Pa·m³/s"})
	}
	for i := range j.Nodes {
		b = append(b, j.Nodes[i].bounds(fmt.Sprintf("nodes[%d]", i+1))...)
	}
	return b
}

// bounds of a node; free water may not take more room than the gas.
func (n *JobNode) bounds(path string) []bound {
	b := []bound{{path + ".volume", float64(n.Volume), 1e-12, 1e6, "m³"}}
	for i, p := range n.Puddles {
		b = append(b, bound{fmt.Sprintf("%s.puddles[%d].water", path, i+1), float64(p.Water), 0, 1000 * float64(n.Volume), "kg"})
	}
	for i, o := range n.Oils {
		most := 0.0
		for _, s := range o.Saturation {
			most = math.Max(most, float64(s.Content))
		}
		b = append(b, bound{fmt.Sprintf("%s.oils[%d].water", path, i+1), float64(o.Water), 0, most, "kg/kg"})
	}
	return b
}

// inBounds reports the first value out of its range.
func (j *Job) inBounds() error {
	for _, b := range j.bounds() {
		if err := units.CheckRange("", b.path, b.v, b.lo, b.hi, b.unit); err != nil {
			return err
		}
	}
	return j.Gauge.check()
}

// Check reports the first thing that keeps the job from being run, with its
// place in the job.
func (j *Job) Check() error {
	if err := j.inBounds(); err != nil {
		return fmt.Errorf("%w: %w", ErrJob, err)
	}
	if len(j.Procedures) == 0 {
		return fmt.Errorf("%w: procedures: at least one is needed", ErrJob)
	}
	rig, err := j.build()
	if err != nil {
		return fmt.Errorf("%w: %w", ErrJob, err)
	}
	if err := rig.circuit.Check(); err != nil {
		return fmt.Errorf("%w: %w", ErrJob, err)
	}
	for i := range j.Procedures {
		if err := j.Procedures[i].check(rig); err != nil {
			return fmt.Errorf("%w: procedures[%d] %q: %w", ErrJob, i+1, j.Procedures[i].Name, err)
		}
	}
	return nil
}
