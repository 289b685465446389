package main

import (
	"time"

	"example.com/drydown/moisture"
	"example.com/drydown/purge"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// samplesOf are the samples of one stage, both ends included.
func samplesOf(r *purge.Record, s *purge.Stage) []vacuum.Sample {
	var out []vacuum.Sample
	for i := range r.Samples {
		if t := r.Samples[i].Time; t >= s.Start && t <= s.End {
			out = append(out, r.Samples[i])
		}
	}
	return out
}

// lastSampleUntil is the latest sample not after t, nil when there is none.
func lastSampleUntil(r *purge.Record, t time.Duration) *vacuum.Sample {
	var last *vacuum.Sample
	for i := range r.Samples {
		if r.Samples[i].Time > t {
			break
		}
		last = &r.Samples[i]
	}
	return last
}

// vapourIn is the water in the gas of all nodes in a sample, p V M/(R T).
func vapourIn(r *purge.Record, j *purge.Job, s *vacuum.Sample) units.Mass {
	var sum units.Mass
	for i := range j.Nodes {
		at := indexOf(r.Nodes, j.Nodes[i].Name)
		n := s.Vapour[at].Amount(j.Nodes[i].Volume, temperatureAt(r, j, j.Nodes[i].Name, s))
		sum += n.Mass(moisture.MolarMass)
	}
	return sum
}

// waterIn is all water in a sample.
func waterIn(r *purge.Record, j *purge.Job, s *vacuum.Sample) units.Mass {
	return vapourIn(r, j, s) + sumContent(s.Content).Total()
}

// nodeTemperature is a node's own temperature or the site's.
func nodeTemperature(j *purge.Job, name string) units.Temperature {
	for i := range j.Nodes {
		if j.Nodes[i].Name == name && j.Nodes[i].Temperature != nil {
			return *j.Nodes[i].Temperature
		}
	}
	return j.Site.Temperature
}

// temperatureAt is a node's temperature in a sample: what the latest step so far
// warmed it to, or its own.
func temperatureAt(r *purge.Record, j *purge.Job, name string, s *vacuum.Sample) units.Temperature {
	t := nodeTemperature(j, name)
	for i := range j.Procedures {
		if j.Procedures[i].Name != r.Procedure {
			continue
		}
		for k := range min(stageAt(r, s), len(j.Procedures[i].Steps)) {
			for _, w := range j.Procedures[i].Steps[k].Warm {
				if w.Node == name {
					t = w.To
				}
			}
		}
		break
	}
	return t
}

// indexOf finds a name that is there; the job has been checked.
func indexOf(names []string, name string) int {
	for i, n := range names {
		if n == name {
			return i
		}
	}
	return -1
}

// movedOut is the water that a procedure left in the pump's oil beside what was
// there, and all that went out and did not come back through the pump.
func movedOut(r *purge.Record) (oil, out units.Mass) {
	for i := range r.Stages {
		for _, m := range r.Stages[i].Moved {
			switch {
			case m.Way == vacuum.InByPump: // only its oil gives vapour back
				oil, out = oil-m.Water, out-m.Water
			case m.Way == vacuum.ByPumpOil:
				oil, out = oil+m.Water, out+m.Water
			case !m.Way.Enters():
				out += m.Water
			}
		}
	}
	return max(oil, 0), out
}
