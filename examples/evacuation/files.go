package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"

	"example.com/drydown/purge"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// makeDir makes the directory for the output before any work is done.
func makeDir(dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("-out: %w", err)
	}
	return nil
}

// written are the files that were written and what failed on the way.
type written struct {
	files  []string
	failed []string // pictures, each with its reason
}

// write puts report, tables and pictures into dir, which exists.
func (a *answer) write(dir string) (written, error) {
	figures := a.draw(dir)
	d := a.report(figures)
	out := written{failed: figures.failed}
	save := func(name string, put func(path string) error) error {
		path := filepath.Join(dir, name)
		err := put(path)
		if err == nil {
			out.files = append(out.files, path)
		}
		return err
	}
	table := func(rows [][]string) func(string) error {
		return func(path string) error { return writeTable(path, rows) }
	}
	err := errors.Join(
		save("report.html", func(path string) error { return writeReport(path, d.html) }),
		save("report.md", func(path string) error { return writeReport(path, d.markdown) }),
	)
	for i, r := range a.records() {
		err = errors.Join(err, save("samples-"+fileName(i, r)+".csv", table(sampleRows(r))))
	}
	if len(a.records()) > 0 {
		err = errors.Join(err, save("ledger.csv", table(a.ledgerRows())))
	}
	for i, b := range a.study.bands {
		err = errors.Join(err, save(fmt.Sprintf("band-%d-%s.csv", i+1, slug(b.Procedure)), table(bandRows(b))))
	}
	out.files = append(out.files, figures.files...)
	return out, err
}

// writeReport writes the document in one of its forms.
func writeReport(path string, form func(io.Writer) error) error {
	f, err := os.Create(path)
	if err != nil {
		return fmt.Errorf("-out: %w", err)
	}
	if err := form(f); err != nil {
		_ = f.Close() // the first error counts
		return err
	}
	return f.Close()
}

// writeTable writes rows as comma-separated text.
func writeTable(path string, rows [][]string) error {
	f, err := os.Create(path)
	if err != nil {
		return fmt.Errorf("-out: %w", err)
	}
	if err := csv.NewWriter(f).WriteAll(rows); err != nil {
		_ = f.Close() // the first error counts
		return err
	}
	return f.Close()
}

// number writes a value in shortest digits; a value that is not finite would be
// a defect upstream and is left empty.
func number(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return ""
	}
	return strconv.FormatFloat(x, 'g', -1, 64)
}

// sampleRows has one row per sample: pressures and vapour by node, water by
// store, gauge.
func sampleRows(r *purge.Record) [][]string {
	head := []string{"time[s]", "stage"}
	for _, n := range r.Nodes {
		head = append(head, "p "+n+"[Pa]", "vapour "+n+"[Pa]")
	}
	for _, s := range r.Stores {
		head = append(head, s+" liquid[kg]", s+" ice[kg]", s+" dissolved[kg]", s+" adsorbed[kg]", s+" temperature[K]", s+" held back by")
	}
	for _, g := range r.Gauges {
		head = append(head, g+"[Pa]")
	}
	rows := [][]string{head}
	for i := range r.Samples {
		rows = append(rows, sampleRow(r, &r.Samples[i]))
	}
	return rows
}

func sampleRow(r *purge.Record, s *vacuum.Sample) []string {
	row := []string{number(s.Time.Seconds()), strconv.Itoa(stageAt(r, s))}
	for i := range s.Pressure {
		row = append(row, number(float64(s.Pressure[i])), number(float64(s.Vapour[i])))
	}
	for i, c := range s.Content {
		for _, m := range []units.Mass{c.Liquid, c.Ice, c.Dissolved, c.Adsorbed} {
			row = append(row, number(float64(m)))
		}
		row = append(row, number(float64(s.Temperature[i])), s.Governing[i].String())
	}
	for _, g := range s.Reading {
		switch {
		case g.OverRange:
			row = append(row, "over")
		case g.UnderRange:
			row = append(row, "under")
		default:
			row = append(row, number(float64(g.Pressure)))
		}
	}
	return row
}

// stageAt is the step that a sample belongs to; at a boundary the earlier one.
func stageAt(r *purge.Record, s *vacuum.Sample) int {
	for i := range r.Stages {
		if s.Time <= r.Stages[i].End {
			return r.Stages[i].Step
		}
	}
	return len(r.Stages)
}

// ledgerRows says for every stage where the water is and by which way it went.
// Rows "inside" are the state at the stage's end, rows "left" and "entered" what
// crossed during it; "residual" is what the whole ledger fails to close by.
func (a *answer) ledgerRows() [][]string {
	rows := [][]string{{"procedure", "step", "title", "kind", "start[s]", "end[s]", "where", "what", "form", "water[kg]", "nitrogen[mol]"}}
	for _, r := range a.records() {
		rows = append(rows, inside([]string{r.Procedure, "0", "start", "", "0", "0"}, &r.Before)...)
		for i := range r.Stages {
			s := &r.Stages[i]
			lead := []string{r.Procedure, strconv.Itoa(s.Step), s.Title, s.Kind, number(s.Start.Seconds()), number(s.End.Seconds())}
			rows = append(rows, inside(lead, &s.Ledger)...)
			for _, m := range s.Moved {
				where := "left"
				if m.Way.Enters() {
					where = "entered"
				}
				rows = append(rows, ledgerRow(lead, where, way(m), "", number(float64(m.Water)), ""))
			}
			rows = append(rows, ledgerRow(lead, "entered", "nitrogen supply", "", "", number(float64(s.Nitrogen))))
		}
	}
	return rows
}

// ledgerRow is a row that begins with lead.
func ledgerRow(lead []string, cells ...string) []string {
	return append(append([]string(nil), lead...), cells...)
}

// inside are the rows of what a ledger holds, and its residual.
func inside(lead []string, l *vacuum.Ledger) [][]string {
	var rows [][]string
	for _, n := range l.Nodes {
		rows = append(rows, ledgerRow(lead, "inside", n.Node, "vapour", number(float64(n.Water())), ""))
	}
	for _, s := range l.Stores {
		for _, f := range []struct {
			form string
			m    units.Mass
		}{{"liquid", s.Content.Liquid}, {"ice", s.Content.Ice}, {"dissolved", s.Content.Dissolved}, {"adsorbed", s.Content.Adsorbed}} {
			rows = append(rows, ledgerRow(lead, "inside", s.Store, f.form, number(float64(f.m)), ""))
		}
	}
	return append(rows, ledgerRow(lead, "residual", "", "", number(float64(l.Residual())), ""))
}
