package rise

import (
	"fmt"
	"math"
	"time"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/trace"
)

// say writes the finding in words. Every number in the sentence is one of the
// finding's own.
func (j *judge) say() {
	f := &j.f
	switch f.Verdict {
	case Tight:
		f.Sentence = j.sayTight()
		if f.Reason == ConstantReading {
			f.Sentence = j.sayConstant()
		}
	case Leak:
		f.Sentence = "The pressure rises steadily: a leak of " + j.range3() + "."
		switch f.Reason {
		case CircuitModel:
			f.Sentence = fmt.Sprintf("The pressure rises steadily, beside two sides of the circuit that settle (%s): a leak of %s.", j.sayForeseen(), j.range3())
		case AboveSaturation:
			f.Sentence = fmt.Sprintf("The pressure rose above %s, the most that water can reach at %s: gas comes in, %s.",
				sayPressure(units.Pressure(j.psatHigh)), sayTemperature(j.o.SiteTemperature), j.range3())
		}
		f.Sentence += j.belowLimit()
	case LeakAndMoisture:
		f.Sentence = fmt.Sprintf("Two things at once: a source that fades (%s during the record) and a leak of %s.%s",
			sayPressure(f.VapourRise), j.range3(), j.belowLimit())
	case Moisture:
		f.Sentence = j.sayMoisture()
	case Outgassing:
		f.Sentence = fmt.Sprintf("The rise slows down as outgassing does (%s during the record); %s.",
			sayPressure(f.VapourRise), j.sayNoLeak())
	case Equalising:
		f.Sentence = j.sayEqualising()
	default:
		f.Sentence = j.sayUndetermined()
	}
	f.Sentence += j.sayNotForeseen()
}

func (j *judge) sayTight() string {
	s := fmt.Sprintf("Tight to the limit: %s, and no source that fades is shown.", j.sayNoLeak())
	if j.second != "" {
		s += " But " + j.second + "."
	}
	if j.f.Falling {
		return s
	}
	if j.f.Leak.Low > 0 {
		s += fmt.Sprintf(" A leak below the limit is there, at least %s.", sayFlow(j.f.Leak.Low))
	}
	return s
}

// sayNoLeak states the largest compatible leak beside the limit.
func (j *judge) sayNoLeak() string {
	if j.f.Falling {
		return fmt.Sprintf("at %.3g %% no leak is compatible with the falling pressure (limit %s)", 100*j.f.Confidence, sayFlow(j.f.Limit))
	}
	return fmt.Sprintf("the largest leak still compatible is %s, the limit %s", sayFlow(j.f.Leak.High), sayFlow(j.f.Limit))
}

func (j *judge) sayMoisture() string {
	f := &j.f
	leak := j.sayNoLeak()
	if f.Leak.High >= f.Limit {
		leak = fmt.Sprintf("whether it also leaks cannot be told before it is dry (a leak up to %s is compatible, the limit is %s)",
			sayFlow(f.Leak.High), sayFlow(f.Limit))
	}
	switch f.Reason {
	case MeltingStep:
		return fmt.Sprintf("Ice melted in the circuit: the pressure paused near the triple point of water, 611.657 Pa, and rose on; %s.", leak)
	case AtSaturation:
		return fmt.Sprintf("Liquid water: the pressure settled at %s, where water at %s boils (%s); %s.",
			sayPressure(f.Record.Last), sayTemperature(j.o.SiteTemperature), sayPressure(f.Saturation), leak)
	}
	return fmt.Sprintf("Moisture: the rise fades out (%s during the record, %s if all of it is water vapour); %s.%s",
		sayPressure(f.VapourRise), sayMass(f.Water), leak, j.oneGauge())
}

// oneGauge admits what a fading rise at one gauge cannot tell apart.
func (j *judge) oneGauge() string {
	if j.r.second != nil {
		return ""
	}
	return " Gas that settles between parts of the circuit looks the same to one gauge."
}

func (j *judge) sayEqualising() string {
	f := &j.f
	switch f.Reason {
	case CircuitModel:
		alike := "Moisture that comes out"
		if j.foreseen.best.sol.beta[2] < 0 {
			alike = "Gas that cools"
		}
		return fmt.Sprintf("Two sides of the circuit settle as the model of the circuit foresees: %s; %s. %s at this pace looks the same to one gauge.",
			j.sayForeseen(), j.sayNoLeak(), alike)
	case SecondGauge:
		return fmt.Sprintf("Two sides of the circuit settle: the gauges approach one another; %s.", j.sayNoLeak())
	}
	return fmt.Sprintf("The pressure falls from %s to %s: parts of the circuit settle, or gas cools; %s.",
		sayPressure(f.Record.First), sayPressure(f.Record.Last), j.sayNoLeak())
}

func (j *judge) sayUndetermined() string {
	f := &j.f
	info := f.Record
	switch f.Reason {
	case InstrumentFault:
		if j.r.most(info.OverRange) {
			return fmt.Sprintf("No verdict: %d of %d readings were over the range of the gauge, the first in line %d.",
				info.OverRange, info.Rows, j.r.lost[trace.OverRange].line)
		}
		return j.sayStuck()
	case ConstantReading:
		return j.sayConstant()
	case TooFewSamples:
		s := fmt.Sprintf("No verdict: %s, at least %d are needed", countReadings(info.Usable), MinSamples)
		if lost := j.r.sayLost(); lost != "" {
			s += fmt.Sprintf(" (%d rows: %s)", info.Rows, lost)
		}
		return s + "."
	case UnusableRows:
		return fmt.Sprintf("No verdict: %d of %d rows held no reading, could not be read or had times that went back: %s.", info.Unreadable+info.Missing, info.Rows, j.r.sayLost())
	}
	why := "the noise of the gauge hides a leak of that size"
	switch f.Reason {
	case SlowSource:
		why = "the rise bends too little to tell a leak from moisture that is slow to come out"
	case DriftHides:
		why = "a drift of the temperature could hide a leak of that size; a temperature column would settle it"
	}
	s := fmt.Sprintf("Not decided: any leak from zero to %s is compatible, the limit is %s; %s.", sayFlow(f.Leak.High), sayFlow(f.Limit), why)
	switch {
	case j.open:
		s += fmt.Sprintf(" Two sides of the circuit that settle as foreseen (%s) would explain the rest of the change as well, but another law is more probable.", j.sayForeseen())
	case j.settles:
		s += fmt.Sprintf(" The rest of the change is that of two sides of the circuit that settle as foreseen (%s).", j.sayForeseen())
	}
	if f.DecideKnown {
		return s + fmt.Sprintf(" Watching for about %s in all should decide if the source behaves as fitted; in trials seven in ten did.", sayTime(f.Decide))
	}
	return s + " Longer watching alone will not decide soon; start deeper, or isolate parts of the circuit."
}

// range3 is best value and interval of the leak.
func (j *judge) range3() string {
	l := j.f.Leak
	return fmt.Sprintf("%s (%s to %s; limit %s)", sayFlow(l.Best), sayFlow(l.Low), sayFlow(l.High), sayFlow(j.f.Limit))
}

// belowLimit admits a leak that is or may be below the limit.
func (j *judge) belowLimit() string {
	switch {
	case j.f.Leak.Low >= j.f.Limit:
		return ""
	case j.f.Leak.High < j.f.Limit: // a rise beyond what water can do is a leak of any size
		return " It is below the limit."
	}
	return " It may still be below the limit."
}

func sayFlow(q units.Throughput) string { return fmt.Sprintf("%.3g Pa·m³/s", float64(q)) }

func sayPressure(p units.Pressure) string {
	if math.Abs(float64(p)) < 2000 {
		return fmt.Sprintf("%.3g Pa (%.3g micron)", float64(p), p.In(units.Micron))
	}
	return fmt.Sprintf("%.4g Pa (%.3g mbar)", float64(p), p.In(units.Millibar))
}

// saySigned words a change of pressure with its sign.
func saySigned(p float64) string {
	if p > 0 {
		return "+" + sayPressure(units.Pressure(p))
	}
	return sayPressure(units.Pressure(p))
}

func countReadings(n int) string {
	if n == 1 {
		return "1 usable reading"
	}
	return fmt.Sprintf("%d usable readings", n)
}

func sayMass(m units.Mass) string {
	if mg := float64(m) * 1e6; mg < 100 {
		return fmt.Sprintf("%.3g mg", mg)
	}
	return fmt.Sprintf("%.3g g", float64(m)*1e3)
}

func sayTemperature(t units.Temperature) string { return fmt.Sprintf("%.1f °C", t.Celsius()) }

// sayTime rounds up to minutes below two hours and to tenths above, so that the
// time said is never shorter than the one meant.
func sayTime(d time.Duration) string {
	if d < 2*time.Hour {
		return fmt.Sprintf("%.0f min", math.Ceil(d.Minutes()-1e-9))
	}
	if d < 48*time.Hour {
		return fmt.Sprintf("%.1f h", math.Ceil(10*d.Hours()-1e-9)/10)
	}
	return fmt.Sprintf("%.1f days", math.Ceil(10*d.Hours()/24-1e-9)/10)
}

// sayConstantOf words a time constant, which nothing rounds up.
func sayConstantOf(d time.Duration) string {
	if d < 2*time.Minute {
		return fmt.Sprintf("%.3g s", d.Seconds())
	}
	if d < 2*time.Hour {
		return fmt.Sprintf("%.3g min", d.Minutes())
	}
	return fmt.Sprintf("%.3g h", d.Hours())
}
