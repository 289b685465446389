package follow

// Verdict is what a rise test shows. It is the one set of verdicts of this
// module; package rise uses the same type.
type Verdict int

// The verdicts. Undetermined is the zero value: nothing is claimed by default.
const (
	// Undetermined: the record cannot tell zero from the caller's leak limit,
	// or it cannot be judged at all.
	Undetermined Verdict = iota
	// Tight: no leak at or above the caller's limit, and no moisture or
	// outgassing that the record can show.
	Tight
	// Leak: gas comes in steadily.
	Leak
	// Moisture: vapour that approaches a limit, and no leak at or above the
	// caller's limit.
	Moisture
	// LeakAndMoisture: gas comes in steadily beside a source that fades.
	LeakAndMoisture
	// Outgassing: a source that fades as a power of time, and no leak at or
	// above the caller's limit.
	Outgassing
	// Equalising: the pressure settles between parts of the circuit, and no
	// leak at or above the caller's limit.
	Equalising
)

// String returns the verdict in words.
func (v Verdict) String() string {
	names := [...]string{"undetermined", "tight", "leak", "moisture", "leak and moisture", "outgassing", "equalising"}
	if v >= 0 && int(v) < len(names) {
		return names[v]
	}
	return "unknown"
}

// Reason says why the readings decide nothing.
type Reason int

// The reasons.
const (
	// Decided: they do decide.
	Decided Reason = iota
	// TooFewReadings: fewer than MinReadings.
	TooFewReadings
	// GaugeFault: the gauge was over its range, or repeated one value where one
	// that works would not have.
	GaugeFault
	// Repeats: the gauge repeated one value for nearly half of the readings.
	Repeats
	// TooWide: the interval of the leak holds both zero and the limit.
	TooWide
	// FewIndependent: neighbouring readings are so much alike that too few are
	// independent.
	FewIndependent
	// LawsDisagree: the laws that fit differ about it, or a bound lies too near
	// zero or the limit.
	LawsDisagree
	// NoLaw: no law with at most one source that fades describes the readings.
	NoLaw
	// WaterNear: the pressure is near one at which water boils or melts.
	WaterNear
	// TooFast: the pressure bends too sharply, against the noise, for the readings
	// to be condensed.
	TooFast
)

// String returns the reason in words.
func (r Reason) String() string {
	names := [...]string{
		"decided", "too few readings", "gauge fault", "gauge repeats one value", "interval too wide",
		"too few independent readings", "laws that fit disagree", "no law of one source describes the readings", "pressure where water boils or melts",
		"pressure bends too sharply",
	}
	if r >= 0 && int(r) < len(names) {
		return names[r]
	}
	return "unknown"
}
