package main

import (
	"bytes"
	_ "embed"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/examples/internal/riseinput"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
	"example.com/drydown/vacuum/rise"
	"example.com/drydown/vacuum/trace"
)

// The embedded record, and what invented says about its circuit, are invented.
//
//go:embed record.csv
var record []byte

// invented is what goes with the embedded record where flags say nothing.
var invented = map[string]string{
	"volume": "6.4 L", "temperature": "23 °C", "leak-limit": "1 micron/min",
	"refrigerant": "R-410A", "service-pressure": "16 bar gauge",
}

// inputs are the command line.
type inputs struct {
	riseinput.Inputs
	log, out, refrigerant string
	service               units.PressureReading
	resolution            units.Pressure
	target, blankOff      units.Pressure
	settlesIn             units.Duration // time constant of two sides that settle; zero when not given
	settlesBy             units.Pressure // how much that changes the reading in the end
}

// parseFlags reads the command line. With no log the invented values stand in
// for flags that are not given.
func parseFlags(args []string) (*inputs, error) {
	in := &inputs{}
	f := flag.NewFlagSet("risetest", flag.ContinueOnError)
	f.SetOutput(io.Discard)
	f.Usage = func() {}
	in.Register(f)
	f.StringVar(&in.log, "log", "", "")
	f.StringVar(&in.out, "out", "", "")
	f.StringVar(&in.refrigerant, "refrigerant", "", "")
	f.TextVar(&in.service, "service-pressure", units.PressureReading{}, "")
	f.TextVar(&in.resolution, "resolution", units.Pressure(0), "")
	f.TextVar(&in.target, "target", 500*units.Micron, "")
	f.TextVar(&in.blankOff, "blank-off", units.Pressure(0), "")
	f.TextVar(&in.settlesIn, "settles-in", units.Duration(0), "")
	f.Func("settles-by", "", in.readSettlesBy)
	if err := f.Parse(args); err != nil {
		return nil, err
	}
	given := map[string]bool{}
	f.Visit(func(x *flag.Flag) { given[x.Name] = true })
	switch {
	case f.NArg() > 1 || f.NArg() == 1 && given["log"]:
		return nil, fmt.Errorf("%q is one log too many; flags go before the file", f.Arg(f.NArg()-1))
	case f.NArg() == 1:
		in.log = f.Arg(0)
	case given["log"] && in.log == "", given["out"] && in.out == "":
		return nil, fmt.Errorf("-log needs the name of a file and -out that of a directory")
	case in.log == "":
		for name, text := range invented {
			if given[name] {
				continue
			}
			if err := f.Set(name, text); err != nil {
				return nil, err
			}
		}
	}
	if given["resolution"] {
		if err := units.CheckRange("", "-resolution", float64(in.resolution), 1e-6, 1e5, "Pa"); err != nil {
			return nil, err
		}
	}
	if given["blank-off"] {
		if err := units.CheckRange("", "-blank-off", float64(in.blankOff), 1e-3, 1e5, "Pa"); err != nil {
			return nil, err
		}
	}
	if err := units.CheckRange("", "-target", float64(in.target), 1e-3, 1e5, "Pa"); err != nil {
		return nil, err
	}
	if given["settles-in"] != given["settles-by"] {
		return nil, fmt.Errorf("-settles-in and -settles-by go together: give both or neither")
	}
	if given["settles-in"] {
		if err := errors.Join(units.CheckRange("", "-settles-in", time.Duration(in.settlesIn).Seconds(), 1, 1e7, "s"),
			units.CheckRange("", "-settles-by, either way,", math.Abs(float64(in.settlesBy)), 1e-3, 1e4, "Pa")); err != nil {
			return nil, err
		}
	}
	if (in.refrigerant == "") != in.service.IsZero() {
		return nil, fmt.Errorf("-refrigerant and -service-pressure go together: give both or neither")
	}
	return in, in.Check(f)
}

// readSettlesBy reads the change by settling, negative where the reading falls.
func (in *inputs) readSettlesBy(text string) error {
	size, falls := strings.CutPrefix(strings.TrimSpace(text), "-")
	p, err := units.ParsePressure(size)
	if in.settlesBy = p; falls {
		in.settlesBy = -p
	}
	return err
}

// question is everything that is asked, read and checked.
type question struct {
	log      *trace.Log
	name     string
	invented bool
	options  rise.Options
	limitAs  string // the limit as it was given
	service  *rise.Service
	gas      string
	pull     rise.PullOptions
}

// load reads the record and gathers the options.
func (in *inputs) load() (*question, error) {
	ambient, err := in.AmbientPressure()
	if err != nil {
		return nil, err
	}
	q := &question{name: in.log, invented: in.log == "", limitAs: in.Limit}
	if q.invented {
		q.name = "an invented record"
		log, err := trace.Read(bytes.NewReader(record), trace.Options{Name: q.name})
		if err != nil {
			return nil, err
		}
		q.log = &log
	} else if q.log, err = in.ReadLog(in.log, ambient); err != nil {
		return nil, err
	}
	q.options = rise.Options{Volume: in.Volume, SiteTemperature: in.Temperature, Resolution: in.resolution, Ambient: ambient}
	if in.settlesIn > 0 {
		near, far := in.settlesBy/rise.FarUncertainty, in.settlesBy*rise.FarUncertainty
		q.options.Equalisation = []rise.Equalisation{{Least: min(near, far), Most: max(near, far), TimeConstant: time.Duration(in.settlesIn)}}
	}
	q.pull = rise.PullOptions{Volume: in.Volume, SiteTemperature: in.Temperature, Target: in.target, BlankOff: in.blankOff}
	if err := in.refrigerantOf(q, ambient); err != nil {
		return nil, err
	}
	if q.options.LeakLimit, err = in.limit(q); err != nil {
		return nil, err
	}
	needed := q.options
	if q.falls() {
		needed.LeakLimit = 1 // a pull-down needs none
	}
	return q, riseinput.Needs(&needed, "")
}

// refrigerantOf fills in the refrigerant in service.
func (in *inputs) refrigerantOf(q *question, ambient units.Pressure) error {
	if in.refrigerant == "" || in.Temperature == 0 {
		return nil
	}
	gas, err := vacuum.GasNamed(in.refrigerant)
	if err != nil {
		return fmt.Errorf("-refrigerant: %w", err)
	}
	viscosity, err := gas.Viscosity(in.Temperature)
	if err != nil {
		return fmt.Errorf("-refrigerant %s: %w", gas.Name, err)
	}
	if ambient == 0 {
		ambient = units.Atmosphere
	}
	p, err := in.service.Absolute(ambient)
	if err != nil {
		return fmt.Errorf("-service-pressure: %w", err)
	}
	if err := units.CheckRange("", "-service-pressure, absolute,", float64(p), 1.01*float64(ambient), 2e7, "Pa"); err != nil {
		return err
	}
	q.gas = gas.Name
	q.service = &rise.Service{MolarMass: gas.MolarMass, Viscosity: viscosity, Pressure: p, Ambient: ambient, Temperature: in.Temperature}
	return nil
}

// limit is the leak that matters; a loss of refrigerant is turned into the
// smaller of the leaks that make it, which is the safe one.
func (in *inputs) limit(q *question) (units.Throughput, error) {
	loss, err := units.ParseMassFlow(in.Limit)
	if err != nil {
		return in.LimitIn(in.Volume)
	}
	if q.service == nil {
		return 0, fmt.Errorf("-leak-limit %q is a loss of refrigerant: give -refrigerant, -service-pressure and -temperature as well", in.Limit)
	}
	laminar, molecular, err := q.service.Leak(loss)
	if err != nil {
		return 0, fmt.Errorf("-leak-limit: %w", err)
	}
	smaller := min(laminar, molecular)
	return smaller, units.CheckRange("", "-leak-limit", float64(smaller), 1e-15, 1e3, "Pa·m³/s")
}

// falls is true when the record is one of a pull-down: its last readings are at
// most half of its first, which is more than zero.
func (q *question) falls() bool {
	_, p := phrase.Readings(q.log)
	if len(p) < rise.MinSamples {
		return false
	}
	first := middle(p[:3])
	return first > 0 && middle(p[len(p)-3:]) <= first/2
}

// middle is the median of three.
func middle(p []units.Pressure) units.Pressure {
	s := slices.Clone(p)
	slices.Sort(s)
	return s[1]
}

// said words an error of the library in terms of flags.
func said(err error) error {
	return fmt.Errorf("%s", strings.NewReplacer("rise.Interpret: ", "record: ", "rise.InterpretPullDown: ", "record: ", "SiteTemperature", "-temperature",
		"Volume", "-volume", "LeakLimit", "-leak-limit", "Resolution", "-resolution", "Target", "-target", "BlankOff", "-blank-off").Replace(err.Error()))
}
