package rise

import "example.com/drydown/vacuum/rise/follow"

// Verdict is what a rise test shows, one set for the batch interpretation and
// the follower.
type Verdict = follow.Verdict

// The verdicts. Undetermined is the zero value: nothing is claimed by default.
const (
	// Undetermined: the record cannot tell zero from the caller's leak limit,
	// or it cannot be judged at all; the reason says which.
	Undetermined = follow.Undetermined
	// Tight: no leak at or above the caller's limit, and no moisture or
	// outgassing that the record can show.
	Tight = follow.Tight
	// Leak: gas comes in steadily.
	Leak = follow.Leak
	// Moisture: vapour that approaches a limit, and no leak at or above the
	// caller's limit; beside a plateau at saturation or melting ice a leak may
	// stay hidden, which the sentence then says.
	Moisture = follow.Moisture
	// LeakAndMoisture: gas comes in steadily beside a source that fades.
	LeakAndMoisture = follow.LeakAndMoisture
	// Outgassing: a source that fades as a power of time, and no leak at or
	// above the caller's limit.
	Outgassing = follow.Outgassing
	// Equalising: the pressure settles between parts of the circuit, and no
	// leak at or above the caller's limit.
	Equalising = follow.Equalising
)

// Reason says what a verdict rests on, or why there is none.
type Reason int

// The reasons.
const (
	// ByRates: the fitted rates and their interval decide.
	ByRates Reason = iota
	// AtSaturation: the pressure settled at the saturation pressure of water
	// at site temperature.
	AtSaturation
	// MeltingStep: the pressure paused at the triple point of water and went on.
	MeltingStep
	// AboveSaturation: the pressure rose by more than the saturation pressure
	// of water, which no amount of water can do.
	AboveSaturation
	// FallingPressure: the pressure fell.
	FallingPressure
	// SecondGauge: two gauges approach one another.
	SecondGauge
	// SlowSource: the rise bends too little to tell a leak from a source with
	// a time constant beyond about a third of the record.
	SlowSource
	// TooShort: the noise hides a leak at the limit; a longer record decides.
	TooShort
	// DriftHides: the temperature may have drifted enough to hide a leak at
	// the limit; a temperature column or a longer record decides.
	DriftHides
	// InstrumentFault: the gauge was over its range, or repeated one value where
	// one that works would not have.
	InstrumentFault
	// TooFewSamples: fewer than MinSamples usable readings.
	TooFewSamples
	// ConstantReading: the gauge showed one value, which its resolution
	// explains; a gauge that is stuck would look the same.
	ConstantReading
	// CircuitModel: the pressure settled as Options.Equalisation foresees; with
	// Leak, beside the leak.
	CircuitModel
	// UnusableRows: more than a quarter of the rows held no reading, could not be
	// read, were in another unit, or had times that went back.
	UnusableRows
)

// String returns the reason in words.
func (r Reason) String() string {
	names := [...]string{
		"by rates", "at saturation", "melting step", "above saturation", "falling pressure", "second gauge",
		"slow source", "too short", "drift hides", "instrument fault", "too few samples", "constant reading", "circuit model", "unusable rows",
	}
	if r >= 0 && int(r) < len(names) {
		return names[r]
	}
	return "unknown"
}

// Model names one of the candidate laws.
type Model int

// The candidate laws. Every one has a start pressure and a leak of either
// sign; they differ in what is added.
const (
	Steady     Model = iota // nothing: a start pressure and a leak, which may be zero
	Vapour                  // B (1 - exp(-t/τ)), B ≥ 0: vapour approaching a limit
	TwoVapours              // two such sources
	PowerLaw                // a release that falls as (1 + t/t0)^-n
	Settling                // -B (1 - exp(-t/τ)), B ≥ 0: a pressure that falls to a limit
	Predicted               // A share(t) as Options.Equalisation foresees
)

// String returns the model in words.
func (m Model) String() string {
	names := [...]string{"steady", "vapour", "two vapours", "power law", "settling", "as the circuit predicts"}
	if m >= 0 && int(m) < len(names) {
		return names[m]
	}
	return "unknown"
}
