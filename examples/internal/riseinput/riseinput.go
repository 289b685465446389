// Package riseinput holds the flags with which the example programs take a rise
// record and what the record itself does not say, and words what is wrong with
// them in terms of those flags.
package riseinput

import (
	"errors"
	"flag"
	"fmt"
	"strings"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
	"example.com/drydown/vacuum/trace"
)

// Inputs are the flags. Zero values are flags that were not given.
type Inputs struct {
	Volume      units.Volume      // isolated
	Temperature units.Temperature // of the circuit
	Limit       string            // a throughput, or a rate of rise in the volume
	Ambient     units.Pressure
	Altitude    string
	// Pressure and Timing are units of a log whose header names none.
	Pressure, Timing string
}

// Register adds the flags to f.
func (in *Inputs) Register(f *flag.FlagSet) {
	f.TextVar(&in.Volume, "volume", units.Volume(0), "")
	f.TextVar(&in.Temperature, "temperature", units.Temperature(0), "")
	f.TextVar(&in.Ambient, "ambient", units.Pressure(0), "")
	f.StringVar(&in.Altitude, "altitude", "", "")
	f.StringVar(&in.Limit, "leak-limit", "", "")
	f.StringVar(&in.Pressure, "log-pressure-unit", "", "")
	f.StringVar(&in.Timing, "log-time-unit", "", "")
}

// Given is true when any of the flags was given.
func (in *Inputs) Given() bool { return *in != Inputs{} }

// Check refuses what was given and is out of range, a zero as well; f has been
// parsed.
func (in *Inputs) Check(f *flag.FlagSet) error {
	given := map[string]bool{}
	f.Visit(func(x *flag.Flag) { given[x.Name] = true })
	for _, c := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"volume", float64(in.Volume), 1e-6, 1e3, "m³"},
		{"temperature", float64(in.Temperature), 233.15, 373.15, "K"},
		{"ambient", float64(in.Ambient), 3e4, 1.2e5, "Pa"},
	} {
		if !given[c.name] {
			continue
		}
		if err := units.CheckRange("", "-"+c.name, c.v, c.lo, c.hi, c.unit); err != nil {
			return err
		}
	}
	for _, c := range []struct{ name, text, example string }{
		{"leak-limit", in.Limit, "1 micron/min"},
		{"altitude", in.Altitude, "250 m"},
		{"log-pressure-unit", in.Pressure, "micron"},
		{"log-time-unit", in.Timing, "s"},
	} {
		if given[c.name] && strings.TrimSpace(c.text) == "" {
			return fmt.Errorf("-%s is empty, accepted for instance %q", c.name, c.example)
		}
	}
	return nil
}

// AmbientPressure is the ambient pressure that the flags give, Pa, zero when
// they give none.
func (in *Inputs) AmbientPressure() (units.Pressure, error) {
	switch {
	case in.Altitude == "":
		return in.Ambient, nil
	case in.Ambient != 0:
		return 0, fmt.Errorf("give -ambient or -altitude, not both")
	}
	h, err := units.ParseLength(in.Altitude)
	if err != nil {
		return 0, fmt.Errorf("-altitude: %w", err)
	}
	p, err := units.StandardAtmosphere(h)
	if err != nil {
		return 0, fmt.Errorf("-altitude: %w", err)
	}
	return p, nil
}

// LimitIn is the leak that matters in volume v, zero when the flags give none.
func (in *Inputs) LimitIn(v units.Volume) (units.Throughput, error) {
	if in.Limit == "" {
		return 0, nil
	}
	q, err := units.ParseThroughput(in.Limit)
	if err != nil {
		rate, rateErr := units.ParsePressureRate(in.Limit)
		if rateErr != nil {
			return 0, fmt.Errorf("-leak-limit: neither a leak nor a rate of rise: %w; %w", err, rateErr)
		}
		q = rise.LimitFromRise(rate, v)
	}
	return q, units.CheckRange("", "-leak-limit", float64(q), 1e-15, 1e3, "Pa·m³/s")
}

// Needs is an error that names the first of volume, temperature and limit that
// is missing from o; or ends it with where else that may come from.
func Needs(o *rise.Options, or string) error {
	switch {
	case o.Volume == 0:
		return fmt.Errorf("a rise record needs the isolated volume: give -volume, for instance -volume \"12 L\"%s", or)
	case o.SiteTemperature == 0:
		return fmt.Errorf("a rise record needs the temperature of the circuit: give -temperature, for instance -temperature \"24 °C\"%s", or)
	case o.LeakLimit == 0:
		return fmt.Errorf("a rise record needs the leak that matters: give -leak-limit, for instance -leak-limit \"5e-5 Pa·m³/s\" or \"1 micron/min\"%s", or)

	}
	return nil
}

// ReadLog reads a record; a zero ambient refuses gauge pressures.
func (in *Inputs) ReadLog(path string, ambient units.Pressure) (*trace.Log, error) {
	log, err := trace.ReadFile(path, trace.Options{Ambient: ambient, PressureUnit: in.Pressure, TimeUnit: in.Timing})
	var format *trace.FormatError
	switch {
	case errors.As(err, &format):
		return nil, inFlags(format)
	case err != nil:
		return nil, fmt.Errorf("-log: %w", err)
	}
	return &log, nil
}

// flagFor says which flag gives what a log needs.
func flagFor(n trace.Need) string {
	switch n {
	case trace.NeedAmbient:
		return `: give -ambient, for instance -ambient "1003 hPa", or -altitude "250 m"`
	case trace.NeedPressureUnit:
		return " (-log-pressure-unit names the unit that the header does not)"
	case trace.NeedTimeUnit:
		return " (-log-time-unit names the unit that the header does not)"
	}
	return ""
}

// inFlags words what the reader needs as flags.
func inFlags(e *trace.FormatError) error {
	plain := *e
	plain.Need = trace.NeedNothing
	return fmt.Errorf("%w%s", &plain, flagFor(e.Need))
}
