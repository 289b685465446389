package main

import (
	"fmt"
	"math"
	"strings"

	"example.com/drydown/moisture"
	"example.com/drydown/purge"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// contentWords says how much water a store holds and in which form.
func contentWords(c moisture.Content) string {
	var forms []string
	for _, f := range []struct {
		name string
		m    units.Mass
	}{{"liquid", c.Liquid}, {"ice", c.Ice}, {"dissolved", c.Dissolved}, {"adsorbed", c.Adsorbed}} {
		if f.m > 1e-8 {
			forms = append(forms, grams(f.m)+" "+f.name)
		}
	}
	if len(forms) == 0 {
		return "none"
	}
	return strings.Join(forms, ", ")
}

// way names a crossing for people.
func way(m purge.Moved) string {
	switch m.Way {
	case vacuum.ByPumpExhaust:
		return "pump exhaust"
	case vacuum.ByPumpOil:
		return "pump oil"
	case vacuum.InByFeed:
		return "in with " + m.Name
	case vacuum.InByLink:
		return "in by " + m.Name
	}
	return "out by " + m.Name
}

// ledger says where every gram went: by stage in the full report, for whole
// procedures in the summary.
func (a *answer) ledger(d *document, full bool) {
	d.heading("Water ledger")
	for _, r := range a.records() {
		ways := waysOf(r)
		t := &table{head: append([]string{"step", "vapour", "liquid", "ice", "other stores"}, ways...)}
		t.add(append([]string{"start", grams(r.Before.Vapour())}, append(storeCells(r.Before.Stored()), blanks(len(ways))...)...)...)
		total := map[string]units.Mass{}
		for i := range r.Stages {
			s := &r.Stages[i]
			moved := map[string]units.Mass{}
			for _, m := range s.Moved {
				moved[way(m)] += m.Water
				total[way(m)] += m.Water
			}
			if full {
				t.add(append([]string{fmt.Sprintf("%d %s", s.Step, s.Title), grams(s.Vapour)}, append(storeCells(s.Stored), movedCells(ways, moved)...)...)...)
			}
		}
		final := r.Final()
		t.add(append([]string{"end, moved in all", grams(final.Vapour())}, append(storeCells(final.Stored()), movedCells(ways, total)...)...)...)
		d.say("%q:", r.Procedure)
		d.table(t)
		d.say("%s", closing(&final))
	}
}

// closing says how well the ledger closes.
func closing(l *vacuum.Ledger) string {
	base := float64(l.InitialWater() + l.Entered())
	if base == 0 {
		return "There was no water at all."
	}
	return fmt.Sprintf("%s at the start and %s entered; %s left and %s is inside: closed to %.0e of it.",
		grams(l.InitialWater()), grams(l.Entered()), grams(l.Left()), grams(l.Inside()), math.Max(math.Abs(float64(l.Residual()))/base, 1e-17))
}

// storeCells are the forms of stored water as cells.
func storeCells(c moisture.Content) []string {
	return []string{grams(c.Liquid), grams(c.Ice), grams(c.Dissolved + c.Adsorbed)}
}

// waysOf are the ways that moved water in any stage, in order of appearance.
func waysOf(r *purge.Record) []string {
	var ways []string
	seen := map[string]bool{}
	for i := range r.Stages {
		for _, m := range r.Stages[i].Moved {
			if w := way(m); !seen[w] {
				seen[w] = true
				ways = append(ways, w)
			}
		}
	}
	return ways
}

func movedCells(ways []string, moved map[string]units.Mass) []string {
	cells := make([]string, len(ways))
	for i, w := range ways {
		cells[i] = grams(moved[w])
	}
	return cells
}

// blanks are n empty cells.
func blanks(n int) []string { return make([]string, n) }
