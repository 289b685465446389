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
