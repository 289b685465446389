package main

import (
	"errors"
	"flag"
	"fmt"
	"io"

	"example.com/drydown/examples/internal/riseinput"
	"example.com/drydown/units"
)

// inputs are the command line.
type inputs struct {
	job, log, out string
	rise          riseinput.Inputs
	study         studyInputs
}

// studyInputs say how thoroughly the procedures are looked into.
type studyInputs struct {
	bandRuns, driverRows int // 0 means none
	plan                 bool
	spreads              string // a file, empty means the defaults
	stream               uint64
}

// parseFlags reads the command line; help goes to w.
func parseFlags(args []string, w io.Writer) (*inputs, error) {
	in := &inputs{}
	f := flag.NewFlagSet("evacuation", flag.ContinueOnError)
	f.SetOutput(io.Discard)
	f.Usage = func() {}
	f.StringVar(&in.job, "job", "", "")
	f.StringVar(&in.log, "log", "", "")
	f.StringVar(&in.out, "out", "drydown-out", "")
	in.rise.Register(f)
	f.IntVar(&in.study.bandRuns, "band", 200, "")
	f.IntVar(&in.study.driverRows, "drivers", 40, "")
	f.BoolVar(&in.study.plan, "plan", false, "")
	f.StringVar(&in.study.spreads, "spreads", "", "")
	f.Uint64Var(&in.study.stream, "stream", 1, "")
	if err := f.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			if _, printErr := fmt.Fprint(w, helpText()); printErr != nil {
				return nil, printErr
			}
		}
		return nil, err
	}
	if f.NArg() > 0 {
		return nil, fmt.Errorf("%q is not a flag; files are given as -job FILE and -log FILE", f.Arg(0))
	}
	if in.out == "" {
		return nil, fmt.Errorf("-out needs the name of a directory")
	}
	if err := in.rise.Check(f); err != nil {
		return nil, err
	}
	return in, in.study.check()
}

// check refuses numbers of runs that make no band.
func (s *studyInputs) check() error {
	if s.bandRuns != 0 {
		if err := units.CheckRange("", "-band", float64(s.bandRuns), 2, 1e6, "runs (or 0 for none)"); err != nil {
			return err
		}
	}
	if s.driverRows != 0 {
		return units.CheckRange("", "-drivers", float64(s.driverRows), 8, 1e5, "rows (or 0 for none)")
	}
	return nil
}
