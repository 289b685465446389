package main

import (
	"context"
	_ "embed"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// practiceRules are the rules of the trade, a copy of
// testdata/practice/evacuation.csv.
//
//go:embed practice.csv
var practiceRules string

// agreement says how a rule of the trade compares with the model on this job.
type agreement string

// The agreements.
const (
	agrees  agreement = "agrees"
	differs agreement = "differs"
	depends agreement = "depends"
	absent  agreement = "not in this job"
	leftOut agreement = "not modelled"
)

// ruled is a rule held against the model, with the reason. It never gates
// anything.
type ruled struct {
	name    string // in a few words
	rule    string // with its figures
	outcome agreement
	reason  string
}

// ruleBook holds the rows of the rules by name.
type ruleBook map[string]rule

// rule is one row.
type rule struct {
	text, unit string
	value      float64
}

// readRules reads the rows; the file is part of the program, so an error is a
// defect of it.
func readRules(text string) (ruleBook, error) {
	r := csv.NewReader(strings.NewReader(text))
	r.Comment = '#'
	if _, err := r.Read(); err != nil {
		return nil, fmt.Errorf("rules of the trade: %w", err)
	}
	book := ruleBook{}
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			return book, nil
		}
		if err != nil {
			return nil, fmt.Errorf("rules of the trade: %w", err)
		}
		x := rule{text: row[1], unit: row[2]}
		if row[3] != "" {
			if x.value, err = strconv.ParseFloat(row[3], 64); err != nil {
				return nil, fmt.Errorf("rules of the trade: %s: %w", row[0], err)
			}
		}
		book[row[0]] = x
	}
}

// words is a rule with its figure.
func (b ruleBook) words(name string) string {
	x := b[name]
	if x.unit == "" {
		return x.text
	}
	return fmt.Sprintf("%s %g %s", x.text, x.value, x.unit)
}

// bench is where rules are held against the model.
type bench struct {
	*answer
	book ruleBook
	ctx  context.Context
}

// judgeRules holds every rule against this job.
func (a *answer) judgeRules(ctx context.Context) ([]ruled, error) {
	book, err := readRules(practiceRules)
	if err != nil {
		return nil, err
	}
	b := &bench{a, book, ctx}
	var out []ruled
	for _, c := range []struct {
		name  string
		judge func() (ruled, error)
	}{
		{"finish pressure", b.finish},
		{"triple procedure", b.triple},
		{"break pressure", b.breaking},
		{"hold after a break", b.holding},
		{"slow sweep", b.sweeping},
		{"gas ballast", b.ballast},
		{"thermal gauge", b.thermalGauge},
		{"compound gauge", b.compoundGauge},
		{"watching time", b.watching},
		{"what nitrogen carries", b.carrying},
		{"rare ice", b.ice},
		{"hoses and cores before pump", b.hoses},
		{"number of joints", b.joints},
	} {
		x, err := c.judge()
		if err != nil {
			return out, err
		}
		x.name = c.name
		out = append(out, x)
	}
	return out, nil
}
