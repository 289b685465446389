package main

import (
	"errors"
	"flag"
	"fmt"
	"io"

	"example.com/drydown/units"
)

// inputs are the command line.
type inputs struct {
	job, log, out string
	rise          riseInputs
}

// riseInputs are what a rise test needs beside its record, where the job does
// not say it or the user wants it otherwise.
type riseInputs struct {
	volume           units.Volume
	temperature      units.Temperature
	limit            string // a throughput, or a rate of rise in the volume
	pressure, timing string // units of a log whose header names none
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
	f.TextVar(&in.rise.volume, "volume", units.Volume(0), "")
	f.TextVar(&in.rise.temperature, "temperature", units.Temperature(0), "")
	f.StringVar(&in.rise.limit, "leak-limit", "", "")
	f.StringVar(&in.rise.pressure, "log-pressure-unit", "", "")
	f.StringVar(&in.rise.timing, "log-time-unit", "", "")
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
	return in, nil
}
