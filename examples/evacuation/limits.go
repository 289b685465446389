package main

import (
	"fmt"
	"math"
	"time"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/examples/internal/plotstyle"
	"example.com/drydown/moisture"
	"example.com/drydown/purge"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// Vapour on its way from the wettest store to the pump passes resistances in
// series. Each takes its part of the pressure difference that drives it, which
// begins at saturation at wall temperature and ends at nothing:
//
//	heat      saturation at the wall        - saturation at the water
//	surface   saturation at the water       - vapour in the gas above it
//	passages  vapour in the gas above it    - vapour at the pump's inlet
//	pump      vapour at the pump's inlet
//
// With the pump shut off the pump takes nothing away, and the last two are one.
// Without free water in the store only the last two are left.
const (
	byHeat = iota
	bySurface
	byPassages
	byPump
	pumpOff
	limitCount
)

// limitNames are what holds the water back.
var limitNames = [limitCount]string{"heat to the water", "surface and film", "passages", "pump", "pump shut off"}

// limitShares are the parts of the driving pressure in each sample of a record.
type limitShares struct {
	store string
	of    [limitCount][]float64
}

// limits works out the shares for the store with most free water at the start;
// false when there is none. Water bound in oil does not stand at saturation.
func (a *answer) limits(r *purge.Record) (*limitShares, bool) {
	wettest := -1
	for i, s := range r.Before.Stores {
		if m := free(s.Content); m > 1e-9 && (wettest < 0 || m > free(r.Before.Stores[wettest].Content)) {
			wettest = i
		}
	}
	if wettest < 0 {
		return nil, false
	}
	node := r.Before.Stores[wettest].Node
	out := &limitShares{store: r.Stores[wettest]}
	at, inlet := indexOf(r.Nodes, node), indexOf(r.Nodes, a.job.Pump.Node)
	for i := range r.Samples {
		s := &r.Samples[i]
		var drop [limitCount]float64
		vapour := float64(s.Vapour[at])
		if pumpRuns(r, s) {
			drop[byPassages], drop[byPump] = vapour-float64(s.Vapour[inlet]), float64(s.Vapour[inlet])
		} else {
			drop[pumpOff] = vapour
		}
		if free(s.Content[wettest]) > 1e-9 {
			wall, err := saturation(temperatureAt(r, a.job, node, s))
			if err != nil {
				return nil, false
			}
			water, err := saturation(s.Temperature[wettest])
			if err != nil {
				return nil, false
			}
			drop[byHeat], drop[bySurface] = wall-water, water-vapour
		}
		out.add(drop)
	}
	return out, true
}

// free is the water that is not bound.
func free(c moisture.Content) units.Mass { return c.Liquid + c.Ice }

// add appends one sample's shares. What runs backwards, such as vapour that goes
// back into the water, holds nothing back.
func (l *limitShares) add(drop [limitCount]float64) {
	total := 0.0
	for k := range drop {
		drop[k] = math.Max(drop[k], 0)
		total += drop[k]
	}
	for k := range drop {
		share := 0.0
		if total > 0 {
			share = drop[k] / total
		}
		l.of[k] = append(l.of[k], share)
	}
}

func saturation(t units.Temperature) (float64, error) {
	p, _, err := moisture.SaturationPressure(t)
	return float64(p), err
}

// pumpRuns is true in the samples of a pull; at a boundary the earlier step
// counts.
func pumpRuns(r *purge.Record, s *vacuum.Sample) bool {
	step := stageAt(r, s)
	for i := range r.Stages {
		if r.Stages[i].Step == step {
			return r.Stages[i].Kind == "pull"
		}
	}
	return false
}

// limitsFigure shows over time what holds the water back.
func (a *answer) limitsFigure(r *purge.Record) (plotstyle.Figure, bool) {
	l, ok := a.limits(r)
	if !ok {
		return plotstyle.Figure{}, false
	}
	x := minutesOf(r)
	f := plotstyle.Figure{
		Title:  "What holds the water back: " + r.Procedure,
		Desc:   fmt.Sprintf("Share of the pressure that drives vapour from the water in %s to the pump taken by each resistance, over the %s of %q. %s", l.store, phrase.Took(r.Took()), r.Procedure, a.limitWords(r)),
		XLabel: "Time, min", YLabel: "Share of the driving pressure, %", Bands: bands(r), YMax: 104,
	}
	for k, name := range limitNames {
		y := make([]float64, len(x))
		for i := range y {
			y[i] = 100 * l.of[k][i]
		}
		if highest(y) >= 1 {
			f.Areas = append(f.Areas, plotstyle.Series{Name: name, X: x, Y: y})
		}
	}
	return f, len(f.Areas) > 0
}

// limitWords says which resistance takes the largest part for how much of the
// time that the pump runs.
func (a *answer) limitWords(r *purge.Record) string {
	l, ok := a.limits(r)
	if !ok {
		return ""
	}
	var lead [limitCount]time.Duration
	var all time.Duration
	for i := 1; i < len(r.Samples); i++ {
		if !pumpRuns(r, &r.Samples[i]) {
			continue
		}
		most := 0
		for k := range l.of {
			if l.of[k][i] > l.of[most][i] {
				most = k
			}
		}
		d := r.Samples[i].Time - r.Samples[i-1].Time
		lead[most] += d
		all += d
	}
	if all == 0 {
		return ""
	}
	var parts []string
	for k, d := range lead {
		if share := float64(d) / float64(all); share >= 0.01 {
			parts = append(parts, fmt.Sprintf("%s for %.0f %%", limitNames[k], 100*share))
		}
	}
	return fmt.Sprintf("While the pump runs, the largest part is taken by %s of the time.", phrase.Listed(parts))
}
