package vacuum

import (
	"math"
	"time"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// Record is what a simulation went through: samples over time and what it cost.
type Record struct {
	// Nodes, Stores and Gauges name the columns of the samples; reservoirs are
	// left out of Nodes.
	Nodes, Stores, Gauges []string
	// Samples in order of time.
	Samples []Sample
	// Stats counts the work of the integrator.
	Stats Stats
}

// Sample is the circuit at one instant.
type Sample struct {
	// Time since the simulation began.
	Time time.Duration
	// Pressure and Vapour are the total pressure and the partial pressure of
	// water, Pa, by node.
	Pressure, Vapour []units.Pressure
	// Content and Temperature are the water in each store and its temperature,
	// the wall's where the store does not report one.
	Content     []moisture.Content
	Temperature []units.Temperature
	// Governing is what holds each store's release back.
	Governing []moisture.Resistance
	// Reading is what each gauge shows.
	Reading []Reading
}

// Stats counts the work of the integrator.
type Stats struct {
	Accepted, Rejected int // steps
	Rates, Jacobians   int // evaluations
}

func (s *Stats) add(o Stats) {
	s.Accepted += o.Accepted
	s.Rejected += o.Rejected
	s.Rates += o.Rates
	s.Jacobians += o.Jacobians
}

// Last is the latest sample, nil when there is none.
func (r *Record) Last() *Sample {
	if len(r.Samples) == 0 {
		return nil
	}
	return &r.Samples[len(r.Samples)-1]
}

// nameColumns fills in the names of the columns once.
func (s *Simulation) nameColumns() {
	r := &s.record
	if r.Nodes != nil {
		return
	}
	for i := range s.circuit.Nodes {
		if !s.circuit.Nodes[i].Reservoir {
			r.Nodes = append(r.Nodes, s.circuit.Nodes[i].Name)
		}
		for _, ps := range s.circuit.Nodes[i].Stores {
			r.Stores = append(r.Stores, ps.Name)
		}
	}
	for i := range s.circuit.Gauges {
		r.Gauges = append(r.Gauges, s.circuit.Gauges[i].Name)
	}
}

// Sample describes the circuit now.
func (s *Simulation) Sample() (Sample, error) {
	a, err := s.assemble()
	if err != nil {
		return Sample{}, err
	}
	y := make([]float64, a.length)
	s.gather(a, y)
	return s.sample(a, s.now, y), nil
}

// sample describes the circuit in state y.
func (s *Simulation) sample(a *assembly, t float64, y []float64) Sample {
	a.Rates(t, y, a.more)
	out := Sample{Time: clock(t)}
	for i := range a.nodes {
		if n := &a.nodes[i]; n.holdsGas() {
			out.Pressure = append(out.Pressure, units.Pressure(n.total))
			out.Vapour = append(out.Vapour, a.vapour(n))
		}
	}
	for i := range a.stores {
		st := &a.stores[i]
		n := &a.nodes[st.node]
		state := y[st.state : st.state+len(st.weight)]
		rep := moisture.Report{Temperature: units.Temperature(n.temp)}
		if r, ok := st.store.(moisture.Reporter); ok {
			rep = r.Report(state, n.surroundings())
		}
		out.Content = append(out.Content, st.store.Content(state))
		out.Temperature = append(out.Temperature, rep.Temperature)
		out.Governing = append(out.Governing, rep.Governing)
	}
	for i := range s.circuit.Gauges {
		g := &s.circuit.Gauges[i]
		out.Reading = append(out.Reading, s.readNode(g, a))
	}
	return out
}

// vapour is the partial pressure of water in a node.
func (s *system) vapour(n *sysNode) units.Pressure {
	if !s.wet {
		return 0
	}
	return units.Pressure(n.partial[0])
}

// sampler keeps samples at regular times of a run and where pressures change.
// Its clock is that of Sample.Time, so that its times are exact.
type sampler struct {
	begin, length time.Duration // of the run
	every, next   time.Duration
	change        float64
	limit         int
	first         int // index in the record where this run began
	levels        []float64
}

// clock is t, in s, as Sample.Time counts it.
func clock(t float64) time.Duration { return time.Duration(t * float64(time.Second)) }

// due says whether the state at the end of a step is worth a sample.
func (sm *sampler) due(a *assembly, t float64, y []float64) bool {
	if clock(t) >= sm.next {
		return true
	}
	at := 0
	for i := range a.nodes {
		n := &a.nodes[i]
		if n.state < 0 {
			continue
		}
		if p := n.pressure(a.ns, t, y); math.Abs(p-sm.levels[at]) > sm.change*sm.levels[at]+1e-3 {
			return true
		}
		at++
	}
	return false
}

// keep adds a sample, thinning the run's samples first when they are too many.
// At is t by the clock of the samples.
func (sm *sampler) keep(s *Simulation, a *assembly, at time.Duration, t float64, y []float64) {
	r := &s.record
	if run := r.Samples[sm.first:]; len(run) >= sm.limit {
		for i := 1; 2*i < len(run); i++ {
			run[i] = run[2*i]
		}
		r.Samples = r.Samples[:sm.first+(len(run)+1)/2]
		sm.every = min(2*sm.every, sm.length)
		sm.change *= 2
	}
	sample := s.sample(a, t, y)
	sample.Time = at
	r.Samples = append(r.Samples, sample)
	sm.next = sm.begin + ((at-sm.begin)/sm.every+1)*sm.every
	sm.levels = sm.levels[:0]
	for i := range a.nodes {
		if n := &a.nodes[i]; n.state >= 0 {
			sm.levels = append(sm.levels, n.pressure(a.ns, t, y))
		}
	}
}

// drop takes back the samples after time at; the run's first one stays.
func (sm *sampler) drop(r *Record, at time.Duration) {
	for len(r.Samples) > sm.first+1 && r.Last().Time > at {
		r.Samples = r.Samples[:len(r.Samples)-1]
	}
}

// pressure of the node in state y at time t.
func (n *sysNode) pressure(ns int, t float64, y []float64) float64 {
	sum := 0.0
	for _, v := range y[n.state : n.state+ns] {
		sum += math.Max(0, v)
	}
	return sum * n.perMoleAt(t)
}
