package trace

import (
	"fmt"
	"strings"

	"example.com/drydown/units"
)

// scale turns a number of the file into SI: offset + factor*number.
type scale struct {
	factor, offset float64
	gauge          bool // offset by the ambient pressure as well
}

// AcceptedPressureUnits lists the spellings of pressure units in a header.
const AcceptedPressureUnits = "Pa, hPa, kPa, MPa, ubar, mbar, bar, Torr, mTorr, micron, mmHg, mm[Hg], um[Hg], inHg abs, atm, psia; " +
	"gauge (with the ambient pressure): psig, barg, mbarg, kPag, inHg vac"

// AcceptedTimeUnits lists the spellings of time units in a header.
const AcceptedTimeUnits = "ms, s, min, h, d, h:mm:ss, mm:ss, h:mm"

// pressureUnit finds a pressure unit by its spelling. "psi" and "inHg" are
// refused with the reason, since they do not say absolute or gauge.
func pressureUnit(text string) (scale, error) {
	abs := func(u units.Pressure) (scale, error) { return scale{factor: float64(u)}, nil }
	gauge := func(u units.GaugePressure) (scale, error) { return scale{factor: float64(u), gauge: true}, nil }
	switch text { // case matters for these: mPa is not MPa
	case "Pa":
		return abs(units.Pascal)
	case "MPa":
		return abs(units.Megapascal)
	case "mPa":
		return abs(1e-3)
	}
	switch squeeze(text) {
	case "pa", "pascal", "pascals", "paabs", "paa":
		return abs(units.Pascal)
	case "hpa", "hpaabs", "mbar", "millibar", "mbara", "mbarabs":
		return abs(units.Millibar)
	case "kpa", "kpaabs", "kpaa":
		return abs(units.Kilopascal)
	case "bar", "bara", "barabs":
		return abs(units.Bar)
	case "ubar", "µbar", "microbar":
		return abs(0.1)
	case "torr":
		return abs(units.Torr)
	case "mtorr", "millitorr", "micron", "microns", "µmhg", "umhg":
		return abs(units.Micron)
	case "um[hg]": // UCUM: m[Hg] is 133.3220 kPa
		return abs(133.3220e-3)
	case "mm[hg]":
		return abs(133.3220)
	case "mmhg", "mmhgabs":
		return abs(units.MillimetreHg)
	case "inhgabs", "inhga":
		return abs(units.InchHg)
	case "atm":
		return abs(units.Atmosphere)
	case "psia", "psiabs":
		return abs(units.PSIA)
	case "psig", "psigauge":
		return gauge(units.PSIG)
	case "barg", "bargauge", "bar(g)":
		return gauge(units.BarGauge)
	case "mbarg", "mbargauge":
		return gauge(units.BarGauge / 1000)
	case "kpag", "kpagauge":
		return gauge(units.KilopascalGauge)
	case "inhgvac", "inhgvacuum":
		return gauge(units.InHgVacuum(1))
	case "psi", "[psi]":
		return scale{}, ambiguous(text, "psia or psig")
	case "inhg", "[in_i'hg]", "\"hg":
		return scale{}, ambiguous(text, "\"inHg abs\" or \"inHg vac\"")
	case "mb":
		return scale{}, ambiguous(text, "mbar")
	}
	return scale{}, fmt.Errorf("unknown pressure unit %q, accepted %s", text, AcceptedPressureUnits)
}

// ambiguousUnit is a unit that stands for more than one; errors.Is finds
// units.ErrAmbiguous in it.
type ambiguousUnit struct{ text, accepted string }

func (e *ambiguousUnit) Error() string {
	return fmt.Sprintf("unit %q is ambiguous, accepted %s", e.text, e.accepted)
}

func (e *ambiguousUnit) Unwrap() error { return units.ErrAmbiguous }

func ambiguous(text, accepted string) error { return &ambiguousUnit{text, accepted} }

// temperatureUnit finds a temperature unit by its spelling, UCUM included.
func temperatureUnit(text string) (scale, bool) {
	if text == "k" { // kilo, not kelvin
		return scale{}, false
	}
	switch squeeze(text) {
	case "°c", "degc", "c", "cel", "celsius", "ºc":
		return scale{factor: 1, offset: 273.15}, true
	case "°f", "degf", "f", "[degf]", "fahrenheit", "ºf":
		return scale{factor: 1 / 1.8, offset: 459.67 / 1.8}, true
	case "k", "kelvin":
		return scale{factor: 1}, true
	}
	return scale{}, false
}

// timeForm is how times are written.
type timeForm uint8

const (
	timeUnknown timeForm = iota
	timeNumber           // number times factor
	timeHMS              // h:mm:ss
	timeMS               // mm:ss
	timeHM               // h:mm
	timeStamp            // a date and a time
	timeClock            // a clock time in a layout of the caller
)

// timeUnit finds a unit of time by its spelling.
func timeUnit(text string) (timeForm, float64, bool) {
	switch squeeze(text) {
	case "ms", "msec", "millisecond", "milliseconds":
		return timeNumber, 1e-3, true
	case "s", "sec", "second", "seconds":
		return timeNumber, 1, true
	case "min", "minute", "minutes":
		return timeNumber, 60, true
	case "h", "hr", "hour", "hours":
		return timeNumber, 3600, true
	case "d", "day", "days":
		return timeNumber, 86400, true
	case "h:mm:ss", "hh:mm:ss", "h:m:s":
		return timeHMS, 1, true
	case "mm:ss", "m:ss", "min:s", "min:sec":
		return timeMS, 1, true
	case "h:mm", "hh:mm":
		return timeHM, 1, true
	}
	return timeUnknown, 0, false
}

// squeeze lowers the case and removes blanks and full stops at the end, so that
// "Bar (g)" and "bar(g)" are one spelling. The two micro signs become one.
func squeeze(text string) string {
	text = strings.ToLower(strings.TrimSuffix(text, "."))
	text = strings.ReplaceAll(text, "μ", "µ")
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '\t', '_', '\u00a0':
			return -1
		}
		return r
	}, text)
}
