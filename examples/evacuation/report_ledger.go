package main

import (
	"fmt"
	"math"
	"strings"

	"example.com/drydown/examples/internal/phrase"
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
			forms = append(forms, phrase.Grams(f.m)+" "+f.name)
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
	case vacuum.InByPump:
		return "back through " + m.Name
	}
	return "out by " + m.Name
}

// ledger says where every gram went: by stage in the full report, for whole
// procedures in the summary.
func (a *answer) ledger(d *document, full bool) {
	d.heading("Water ledger")
	for _, r := range a.records() {
		d.say("%q, what is inside and what has crossed:", r.Procedure)
		d.table(ledgerTable(r, full))
		final := r.Final()
		d.say("%s", closing(&final))
	}
}

// ledgerTable has the forms of water that occur and the ways that moved some.
func ledgerTable(r *purge.Record, full bool) *table {
	ways, forms := waysOf(r), formsOf(r)
	t := &table{head: append(append([]string{"step"}, forms...), ways...)}
	line := func(name string, vapour units.Mass, stored moisture.Content, moved []string) {
		t.add(append(append([]string{name}, formCells(forms, vapour, stored)...), moved...)...)
	}
	line("start", r.Before.Vapour(), r.Before.Stored(), make([]string, len(ways)))
	total := map[string]units.Mass{}
	for i := range r.Stages {
		s := &r.Stages[i]
		moved := map[string]units.Mass{}
		for _, m := range s.Moved {
			moved[way(m)] += m.Water
			total[way(m)] += m.Water
		}
		if full {
			line(fmt.Sprintf("%d %s", s.Step, s.Title), s.Vapour, s.Stored, movedCells(ways, moved))
		}
	}
	final := r.Final()
	line("end, moved in all", final.Vapour(), final.Stored(), movedCells(ways, total))
	return t
}

// closing says how well the ledger closes.
func closing(l *vacuum.Ledger) string {
	circulated := l.Circulated()
	base := float64(l.InitialWater() + l.Entered() - circulated)
	if base == 0 {
		return "There was no water at all."
	}
	closed := "the balance closes exactly"
	if off := math.Abs(float64(l.Residual())) / base; off > 0 {
		closed = fmt.Sprintf("the balance closes within %.0e of it", off)
	}
	return fmt.Sprintf("%s at the start and %s entered; %s left and %s is inside: %s.",
		phrase.Grams(l.InitialWater()), phrase.Grams(l.Entered()-circulated), phrase.Grams(l.Left()-circulated), phrase.Grams(l.Inside()), closed)
}

// form is a form of water with its mass in a state.
type form struct {
	name string
	mass func(vapour units.Mass, c moisture.Content) units.Mass
}

// allForms in the order of columns.
func allForms() []form {
	return []form{
		{"vapour", func(v units.Mass, _ moisture.Content) units.Mass { return v }},
		{"liquid", func(_ units.Mass, c moisture.Content) units.Mass { return c.Liquid }},
		{"ice", func(_ units.Mass, c moisture.Content) units.Mass { return c.Ice }},
		{"dissolved", func(_ units.Mass, c moisture.Content) units.Mass { return c.Dissolved }},
		{"adsorbed", func(_ units.Mass, c moisture.Content) units.Mass { return c.Adsorbed }},
	}
}

// formsOf are the forms that occur at the start or at the end of a stage.
func formsOf(r *purge.Record) []string {
	var names []string
	for _, f := range allForms() {
		occurs := f.mass(r.Before.Vapour(), r.Before.Stored()) > 1e-9
		for i := range r.Stages {
			occurs = occurs || f.mass(r.Stages[i].Vapour, r.Stages[i].Stored) > 1e-9
		}
		if occurs {
			names = append(names, f.name)
		}
	}
	return names
}

// formCells are the masses of the named forms.
func formCells(names []string, vapour units.Mass, stored moisture.Content) []string {
	var cells []string
	for _, f := range allForms() {
		if indexOf(names, f.name) >= 0 {
			cells = append(cells, phrase.Grams(f.mass(vapour, stored)))
		}
	}
	return cells
}

// waysOf are the ways that moved more than a nanogram of water in any stage, in
// order of appearance.
func waysOf(r *purge.Record) []string {
	var ways []string
	seen := map[string]bool{}
	for i := range r.Stages {
		for _, m := range r.Stages[i].Moved {
			if w := way(m); !seen[w] && m.Water > 1e-12 {
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
		cells[i] = phrase.Grams(moved[w])
	}
	return cells
}
