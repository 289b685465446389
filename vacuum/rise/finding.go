package rise

import (
	"time"

	"example.com/drydown/units"
)

// Interval is a rate of leak with its interval at Finding.Confidence, Pa·m³/s
// at site temperature. No bound is negative; Low is zero when the record does
// not exclude zero.
type Interval struct {
	Low, Best, High units.Throughput
}

// Finding is what a record proves and what it rests on.
type Finding struct {
	Verdict Verdict
	Reason  Reason
	// FirstDecides is true when the verdict rests on the first reading alone: with
	// a gauge that had not settled then it would be another, which Sentence names.
	FirstDecides bool
	// Sentence says it in plain English.
	Sentence string
	// Leak is the rate of leak, averaged over the models that stay plausible.
	// It is all zero when Reason is InstrumentFault, UnusableRows or
	// TooFewSamples; with ConstantReading only High is known.
	Leak Interval
	// Limit is the caller's limit; Confidence that of the interval.
	Limit      units.Throughput
	Confidence float64
	// Falling is true when the interval lies wholly below zero.
	Falling bool
	// VapourRise is what a fading source added during the record, Pa, by the law
	// Fit; zero when none is shown. Leak is an average over laws, so that the two
	// need not add up to the rise: Fit's own leak is Fit.Slope. Where the reading
	// settled at saturation or ice melted it is the change of the reading up to the
	// end of what was fitted, if that is more. FinalRise is what Fit's source would
	// add in the end; zero when unknown, as for a power law.
	VapourRise, FinalRise units.Pressure
	// Settled is the change of the reading during the record, Pa, by the settling
	// that Options.Equalisation foresees, negative where it falls; zero when it is
	// not shown. In a record that is not decided it is shown when no law is more
	// probable.
	Settled units.Pressure
	// TimeConstant of the fading source; zero when none is shown or the
	// source has no single one.
	TimeConstant time.Duration
	// Water is the mass of vapour behind VapourRise if all of it is water, kg.
	Water units.Mass
	// Saturation is the vapour pressure of water at site temperature, Pa.
	Saturation units.Pressure
	// Models gives the probability of each candidate law in the average behind
	// Leak, indexed by Model; they add up to 1, and are all zero when nothing was
	// fitted. They count laws that would need a leak below zero, which Fits leaves
	// out, so that the weights of Fits are others.
	Models [6]float64
	// Fit is the law with the lowest information criterion, the one that fits best
	// for its number of terms; FinalRise and TimeConstant are its. In nine of ten
	// records it is the first of Fits too, whose weights count the whole range of
	// time constants that fit. It is what Options.Equalisation foresees where the
	// record agrees with that and no law is more probable.
	Fit Fit
	// Fits are the laws that stay plausible, the most probable first: every model
	// with at least 1 % of the average behind Leak, each at its best parameters.
	// A model that fits only with a source of nothing is not listed, the model
	// without that source has its weight. No law has a leak below zero, and where
	// Falling none has it beside a source that rises while the pressure falls: each
	// is fitted without one then, and left out where it does not describe the record
	// so, unless none does. They are laws of the pressures that were
	// fitted: at the mean temperature where the log has temperatures, the mean of
	// both sides with Options.SecondVolume. Empty when nothing was fitted.
	Fits []Fit
	// Record describes the readings.
	Record RecordInfo
	// Decide is how long a record under these conditions must be so that the
	// interval of the leak is narrower than the limit, from its first usable
	// reading on; later than the record. It supposes that the fitted source goes
	// on: of 2079 undecided records of the study that were watched that long, 71 %
	// were decided then, 88 % where the law is one of the fitted, and 20 % beside
	// a power law with an offset, which never ends. It is zero when the record has
	// decided or no time is known, which DecideKnown tells apart.
	Decide      time.Duration
	DecideKnown bool
	// Assumptions lists what was assumed and not given, in words.
	Assumptions []string
}

// RecordInfo describes the readings behind a finding.
type RecordInfo struct {
	// Rows of the log, usable readings and rows over range among them. Outliers
	// are usable readings that were set aside, at the ends or by the fit.
	Rows, Usable, OverRange, Outliers int
	// Unreadable are rows from which no reading could be taken: text that is no
	// number, another unit, a negative pressure, or a time before an earlier one.
	// Missing are rows that hold none: a blank cell, or what loggers write in place
	// of one (trace.Missing). Rows under range and with a time that comes again do
	// not count either; they are the rest of Rows.
	Unreadable, Missing int
	// FirstRow and LastRow are the rows of the log, from 0, between which laws
	// were fitted: without readings set aside at the ends, and where ice melted
	// up to the end of the pause only. Both zero when nothing was fitted.
	FirstRow, LastRow int
	// Duration from the first reading that was not set aside to the last.
	Duration time.Duration
	// First and Last are the pressures at both ends by the law Fit, Pa.
	First, Last units.Pressure
	// Resolution is the gauge's step, given or seen, Pa.
	Resolution units.Pressure
	// Noise is the standard deviation of a reading in the middle of the
	// record, Pa, from what the best law leaves over: where no law describes the
	// record, as with melting ice, it is their misfit.
	Noise units.Pressure
	// Correlation of neighbouring readings' noise, 0 to below 1.
	Correlation float64
	// Effective is the number of independent readings by that noise; below 1 where
	// no law describes the record.
	Effective float64
	// TemperatureCorrected is true when a temperature column was used.
	TemperatureCorrected bool
}
