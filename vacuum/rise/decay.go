package rise

import (
	"fmt"
	"math"
	"time"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
	"example.com/drydown/vacuum/trace"
)

// nitrogenOverAir is the ratio of the viscosities at 20 °C, 1348.6/1397.7, from
// the coefficients π/(128 µ) of Poiseuille's law.
const nitrogenOverAir = 1348.6 / 1397.7

// PressureTest is a standing test with nitrogen before the vacuum: the circuit
// is filled to a few bar, closed, and its pressure watched.
//
// Compressed nitrogen is dangerous: a regulator and a relief valve, never oxygen
// or air, never above the rating of the weakest part. Local codes and licensed
// practice come first.
type PressureTest struct {
	Volume units.Volume // m³, above 0
	// Pressure is the absolute test pressure, Pa, at least 1.05 Ambient and at
	// most Rating.
	Pressure units.Pressure
	// Rating is the absolute pressure that the weakest part is rated for, Pa,
	// Ambient to 2e7. It must be given.
	Rating units.Pressure
	// Ambient is the absolute ambient pressure, Pa, 1e4 to 2e5.
	Ambient units.Pressure
	// Temperature of the gas, K, 233.15 to 343.15.
	Temperature units.Temperature
	// Drift is the standard deviation of what is not known of the change of the
	// gas temperature over the test, K, at least 0: the thermometer's error where
	// the temperature is recorded, the weather where it is not. It decides most
	// tests: 1 K is 0.34 % of the pressure.
	Drift units.TemperatureDiff
	// Gauge scatters about the pressure.
	Gauge    Gauge
	Interval time.Duration // between readings, above 0
	Duration time.Duration // at least MinSamples readings
	// FalseAlarm and Missed are as in Plan.
	FalseAlarm, Missed float64
}

func (t PressureTest) check(fn string) error {
	for _, c := range []struct {
		arg       string
		v, lo, hi float64
		unit      string
	}{
		{"Ambient", float64(t.Ambient), 1e4, 2e5, "Pa"},
		{"Rating", float64(t.Rating), float64(t.Ambient), 2e7, "Pa"},
		{"Pressure", float64(t.Pressure), float64(t.Ambient) * 1.05, float64(t.Rating), "Pa"},
		{"Temperature", float64(t.Temperature), 233.15, 343.15, "K"},
		{"Drift", float64(t.Drift), 0, 50, "K"},
	} {
		if err := units.CheckRange(fn, c.arg, c.v, c.lo, c.hi, c.unit); err != nil {
			return err
		}
	}
	return nil
}

// plan is the same test in the terms of a rise test.
func (t PressureTest) plan() Plan {
	return Plan{
		Volume: t.Volume, Start: t.Pressure, SiteTemperature: t.Temperature, Gauge: t.Gauge,
		Interval: t.Interval, Duration: t.Duration, Drift: t.Drift, FalseAlarm: t.FalseAlarm, Missed: t.Missed,
	}
}

// SmallestLeak is the smallest leak, as pV flow of nitrogen out of the circuit
// at test pressure, that the test can tell from zero (see Plan.SmallestLeak).
// VacuumLeak turns it into a leak of air into the evacuated circuit. A pressure
// above the rating is refused.
func (t PressureTest) SmallestLeak() (Detectable, error) {
	if err := t.check("rise.PressureTest.SmallestLeak"); err != nil {
		return Detectable{}, err
	}
	return t.plan().SmallestLeak()
}

// DurationFor is the shortest duration that sees a leak of limit (Pa·m³/s of
// nitrogen at test pressure). A pressure above the rating is refused;
// ErrCannotDecide comes back when 30 days are not enough.
func (t PressureTest) DurationFor(limit units.Throughput) (time.Duration, error) {
	if err := t.check("rise.PressureTest.DurationFor"); err != nil {
		return 0, err
	}
	return t.plan().DurationFor(limit)
}

// VacuumLeak converts a leak q of nitrogen out of the circuit at the given
// absolute pressure (Pa·m³/s, 0 to 1e3) to the leak of air into the evacuated
// circuit through the same path, by the laminar law q ∝ (p1² - p2²)/µ and the
// molecular one q ∝ (p1 - p2)/√M. Ambient is 1e4 to 2e5 Pa, pressure 1.01 times
// ambient to 2e7 Pa.
func VacuumLeak(q units.Throughput, pressure, ambient units.Pressure) (laminar, molecular units.Throughput, err error) {
	const fn = "rise.VacuumLeak"
	if err := units.CheckRange(fn, "q", float64(q), 0, 1e3, "Pa·m³/s"); err != nil {
		return 0, 0, err
	}
	if err := units.CheckRange(fn, "ambient", float64(ambient), 1e4, 2e5, "Pa"); err != nil {
		return 0, 0, err
	}
	if err := units.CheckRange(fn, "pressure", float64(pressure), float64(ambient)*1.01, 2e7, "Pa"); err != nil {
		return 0, 0, err
	}
	pt, pa := float64(pressure), float64(ambient)
	l := pa * pa / ((pt - pa) * (pt + pa)) * nitrogenOverAir
	m := pa / (pt - pa) * math.Sqrt(float64(vacuum.Nitrogen().MolarMass)/float64(AirMolarMass))
	return units.Throughput(float64(q) * l), units.Throughput(float64(q) * m), nil
}

// DecayFinding is what a standing pressure test proves.
type DecayFinding struct {
	// Verdict is Tight, Leak or Undetermined; Reason as in Finding.
	Verdict  Verdict
	Reason   Reason
	Sentence string
	// Leak of nitrogen at test pressure with its interval at 95 %, widened by what
	// the temperature may have done, see Allowed; Pa·m³/s, none below zero. It is all
	// zero when nothing was fitted; with ConstantReading only High is known.
	Leak  Interval
	Limit units.Throughput
	// Equivalent is the change of the gas temperature over the record that would
	// explain the whole change of the pressure, beyond what a temperature column
	// says, K; negative when it would have to become colder. Allowed is by how
	// much either way the interval of the leak allows the temperature to be
	// otherwise than known, 1.96 PressureTest.Drift, on whatever course. Both zero
	// when nothing was fitted.
	Equivalent, Allowed units.TemperatureDiff
	// Record describes the readings.
	Record RecordInfo
}

// maxFall is the largest share of the start pressure by which a test may fall
// while the leak counts as constant (ASTM E2930, abstract: 10 %).
const maxFall = 0.1

// Interpret judges the record of a standing test against limit (Pa·m³/s of
// nitrogen at test pressure, above 0). A temperature column corrects the
// pressures, p T̄/T; t.Drift is then the error of the thermometer, otherwise the
// unknown change, which may take any course: where it could look like the fall or
// hide a leak at the limit, the verdict is Undetermined with reason DriftHides.
// Gas that cools after filling falls like a source that fades and
// is fitted as one. Pressure, Interval, Duration and Gauge noise of t are not
// read, they are seen in the record; Gauge.Resolution is.
//
// It refuses readings above the rating and a record that falls by more than
// 10 % beyond what its temperature column explains, for which the leak is not
// constant.
func (t PressureTest) Interpret(log trace.Log, limit units.Throughput) (DecayFinding, error) {
	const fn = "rise.PressureTest.Interpret"
	r, err := t.record(fn, log, limit)
	if err != nil {
		return DecayFinding{}, err
	}
	j := judge{r: r, o: Options{Volume: t.Volume, SiteTemperature: t.Temperature, LeakLimit: limit, Resolution: t.Gauge.Resolution, Confidence: 0.95}}
	if j.o.Drift = t.Drift; t.Drift == 0 {
		j.o.Drift = -1 // none, where Options.Drift means the default
	}
	j.f.Confidence, j.f.Limit, j.volume = 0.95, limit, float64(t.Volume)
	out := DecayFinding{Limit: limit}
	if !j.unusable() {
		j.f.Record.TemperatureCorrected = r.temp != nil
		r.correct()
		r.reduce()
		j.fitDecay(float64(t.Drift))
		j.decideDecay()
		out.Equivalent, out.Allowed = j.equivalent(), allowanceZ*t.Drift
	}
	j.f.Sentence = j.sayDecay()
	out.Verdict, out.Reason, out.Sentence = j.f.Verdict, j.f.Reason, j.f.Sentence
	out.Leak, out.Record = j.f.Leak, j.f.Record
	return out, nil
}

func (t PressureTest) record(fn string, log trace.Log, limit units.Throughput) (*record, error) {
	for _, c := range []struct {
		arg       string
		v, lo, hi float64
		unit      string
	}{
		{"limit", float64(limit), 1e-15, 1e3, "Pa·m³/s"},
		{"Volume", float64(t.Volume), 1e-6, 1e3, "m³"},
		{"Ambient", float64(t.Ambient), 1e4, 2e5, "Pa"},
		{"Rating", float64(t.Rating), float64(t.Ambient), 2e7, "Pa"},
		{"Temperature", float64(t.Temperature), 233.15, 343.15, "K"},
		{"Drift", float64(t.Drift), 0, 50, "K"},
		{"Gauge.Resolution", float64(t.Gauge.Resolution), 0, 1e6, "Pa"},
	} {
		if err := units.CheckRange(fn, c.arg, c.v, c.lo, c.hi, c.unit); err != nil {
			return nil, err
		}
	}
	r, err := newRecord(fn, log, float64(t.Rating)/1.05)
	if err != nil {
		return nil, err
	}
	r.trimEnds()
	if n := len(r.p); n >= MinSamples && r.kept() < 1-maxFall {
		at := ""
		if r.temp != nil {
			at = fmt.Sprintf(" and its temperature from %.4g to %.4g K", r.temp[0], r.temp[n-1])
		}
		return nil, fmt.Errorf("%s: pressure falls from %.4g to %.4g Pa%s, accepted a fall of at most 10 %% at constant temperature (a leak that large needs no test): %w",
			fn, r.p[0], r.p[n-1], at, units.ErrOutOfRange)
	}
	return r, nil
}

// kept is the share of the gas that is left at the end, from the two end readings.
func (r *record) kept() float64 {
	n := len(r.p)
	share := r.p[n-1] / r.p[0]
	if r.temp != nil {
		share *= r.temp[0] / r.temp[n-1]
	}
	return share
}

// fitDecay fits the fall of the pressure with the candidates of a rise.
func (j *judge) fitDecay(driftK float64) {
	r := j.r
	dur, start := r.duration(), r.p[0]
	q := problem{
		t: r.t, p: make([]float64, len(r.p)), leak: make([]float64, len(r.p)), offset: -start,
		temperature: float64(j.o.SiteTemperature), driftK: driftK, step: j.rounding(),
	}
	for i := range r.p {
		q.p[i], q.leak[i] = start-r.p[i], r.t[i]/dur
	}
	j.fits, j.f.Record.Outliers = q.fit()
	j.drift = start * driftK / float64(j.o.SiteTemperature)
	const cooling = 30 // K, the most that a fill warms the gas
	j.bound(limits{rise: start * cooling / float64(j.o.SiteTemperature), fall: start * cooling / float64(j.o.SiteTemperature)})
	s := j.fits.sys
	info := &j.f.Record
	info.First, info.Last = units.Pressure(start), units.Pressure(r.p[len(r.p)-1])
	info.Noise, info.Correlation, info.Effective = units.Pressure(s.sigma[len(s.sigma)/2]), s.phi, s.effective()
	info.FirstRow, info.LastRow = r.row[0], r.row[len(r.row)-1]
	j.allowForTemperature()
}

func (j *judge) decideDecay() {
	limit := float64(j.o.LeakLimit) * j.fits.sys.dur / j.volume
	switch {
	case j.lo > 0 && j.hi >= limit:
		j.f.Verdict = Leak
	case j.hi >= limit:
		if j.f.Verdict, j.f.Reason = Undetermined, j.whyNot(limit); j.masked {
			j.f.Reason = DriftHides
		}
	default:
		j.f.Verdict = Tight
	}
}

func (j *judge) sayDecay() string {
	f := &j.f
	switch {
	case f.Reason == ConstantReading:
		return j.sayConstant()
	case f.Reason == InstrumentFault || f.Reason == TooFewSamples || f.Reason == UnusableRows:
		return j.sayUndetermined()
	case f.Verdict == Leak:
		return j.withTemperature("The pressure falls steadily: a leak of " + j.range3() + "." + j.belowLimit())
	case f.Verdict == Tight:
		return j.withTemperature(fmt.Sprintf("Tight to the limit: the largest leak still compatible is %s, the limit %s (nitrogen at test pressure).",
			sayFlow(f.Leak.High), sayFlow(f.Limit)))
	}
	why := "the noise of the gauge hides a leak of that size"
	switch f.Reason {
	case SlowSource:
		why = "the fall bends too little to tell a leak from gas that still cools"
	case DriftHides:
		why = "the temperature is not known well enough"
		if j.r.temp == nil {
			why = "a change of the temperature could hide it or look like it: record the temperature of the gas"
		}
	}
	return j.withTemperature(fmt.Sprintf("Not decided: any leak from zero to %s is compatible, the limit is %s; %s.", sayFlow(f.Leak.High), sayFlow(f.Limit), why))
}
