package main

import (
	"fmt"
	"strings"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/examples/internal/plotstyle"
	"example.com/drydown/vacuum/rise"
)

// pullDown prints what a falling record shows and returns its picture.
func (q *question) pullDown(s *sheet) ([]figure, error) {
	f, err := rise.InterpretPullDown(*q.log, q.pull)
	if err != nil {
		return nil, said(err)
	}
	q.opening(s, "Pull-down")
	s.say("%s", f.Sentence)
	s.heading("Evidence")
	out := []string{
		phrase.Lasts(q.log),
		fmt.Sprintf("The last third tends to %s (%s to %s).", phrase.Pressure(f.Floor), phrase.Pressure(f.FloorLow), phrase.Pressure(f.FloorHigh)),
	}
	if p := f.Plateau; p != nil {
		out = append(out, fmt.Sprintf("It stood near %s from %s to %s, where water at %.1f °C boils or ice sublimes.",
			phrase.Pressure(p.Pressure), phrase.Took(p.From), phrase.Took(p.To), p.Water.Celsius()))
	}
	for _, i := range phrase.Issues(q.log, 20) {
		out = append(out, "Odd about the log: "+i+".")
	}
	s.list(out)
	if len(f.Speeds) > 0 {
		s.heading("Effective speed, net of what leaks and evaporates")
		rows := [][]string{{"pressure", "L/min", "standard error"}}
		for _, p := range f.Speeds {
			rows = append(rows, []string{phrase.Pressure(p.Pressure), phrase.Digits(6e4*float64(p.Speed), 3), phrase.Digits(6e4*float64(p.Error), 2)})
		}
		s.table(rows)
	}
	s.heading(fmt.Sprintf("Time left to %s", phrase.Pressure(q.pull.Target)))
	s.say("%s", timeLeft(&f))
	if len(f.Suspects) > 0 {
		s.heading("Why it stalls, likeliest first, and the test that tells")
		var list []string
		for _, x := range f.Suspects {
			list = append(list, fmt.Sprintf("%s: %s. %s.", x.Cause, strings.TrimSuffix(x.Why, "."), strings.TrimSuffix(x.Test, ".")))
		}
		s.list(list)
	}
	return []figure{{"pulldown", q.pullFigure(&f)}}, nil
}

// timeLeft words the forecast.
func timeLeft(f *rise.PullFinding) string {
	switch {
	case f.Reached:
		return "None: the record reaches it."
	case f.Stalled:
		return "It will not get there: the target lies below what the last third tends to."
	case f.TimeLeft.Low < 0: // as good as certain, although the floor is not
		return "It may never get there."
	case f.TimeLeft.Best < 0:
		return fmt.Sprintf("It may never get there; at least %s.", phrase.Took(f.TimeLeft.Low))
	case f.TimeLeft.High < 0:
		return fmt.Sprintf("About %s, at least %s; no upper bound is known.", phrase.Took(f.TimeLeft.Best), phrase.Took(f.TimeLeft.Low))
	}
	return fmt.Sprintf("About %s (%s to %s).", phrase.Took(f.TimeLeft.Best), phrase.Took(f.TimeLeft.Low), phrase.Took(f.TimeLeft.High))
}

// pullFigure is the record with the target.
func (q *question) pullFigure(f *rise.PullFinding) plotstyle.Figure {
	read := q.readings()
	for i := len(read.Y) - 1; i >= 0; i-- { // a logarithmic axis has no zero
		if read.Y[i] <= 0 {
			read.X, read.Y = append(read.X[:i], read.X[i+1:]...), append(read.Y[:i], read.Y[i+1:]...)
		}
	}
	return plotstyle.Figure{
		Title: "Pull-down", Desc: f.Sentence + " " + phrase.Lasts(q.log),
		XLabel: "Time, min", YLabel: "Absolute pressure, Pa", LogY: true, Second: plotstyle.Micron(),
		Series: []plotstyle.Series{read},
		Levels: []plotstyle.Level{{Y: float64(q.pull.Target), Label: "target"}},
	}
}
