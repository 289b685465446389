package purge

import (
	"math"
	"time"

	"gonum.org/v1/gonum/mathext"

	"example.com/drydown/units"
)

// Sweep is a flow of purge gas through a volume that stays at one pressure.
// The gas inside mixes, imperfectly if Mixing is below 1:
//
//	Q t = (V/K) ln[(C1 - C0)/(C2 - C0)]
//
// (Crowl and Louvar, ch. 7, sweep-through purging; K from NFPA 69, annex).
type Sweep struct {
	// Volume is the swept gas space, m³, above 0. A dead leg that the flow
	// passes by is not part of it.
	Volume units.Volume
	// Mixing is the factor K, above 0 to 1: 1 is perfect mixing, 0.2 to 0.25
	// poor mixing (NFPA 69, from memory). There is no default; zero is refused.
	Mixing float64
	// Purge is the content of the species in the purge gas, mole fraction, 0 to
	// 1. Zero means pure purge gas.
	Purge units.MoleFraction
}

// Check reports the first field that is missing or out of range.
func (s Sweep) Check() error {
	const fn = "purge.Sweep"
	if err := checkVolume(fn, "Volume", s.Volume); err != nil {
		return err
	}
	if err := units.CheckRange(fn, "Mixing", s.Mixing, math.SmallestNonzeroFloat64, 1, ""); err != nil {
		return err
	}
	return units.CheckRange(fn, "Purge", float64(s.Purge), 0, 1, "")
}

// Left returns the mole fraction after the volume swept of purge gas, m³ at the
// pressure and temperature of the circuit, 0 or more, has passed; the sweep
// started with the fraction start, 0 to 1.
func (s Sweep) Left(start units.MoleFraction, swept units.Volume) (units.MoleFraction, error) {
	const fn = "purge.Sweep.Left"
	if err := s.Check(); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "start", float64(start), 0, 1, ""); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "swept", float64(swept), 0, math.MaxFloat64, "m³"); err != nil {
		return 0, err
	}
	share := math.Exp(-s.Mixing * float64(swept) / float64(s.Volume))
	return s.Purge + (start-s.Purge)*units.MoleFraction(share), nil
}

// VolumeTo returns the volume of purge gas, m³ at the pressure and temperature
// of the circuit, that brings the fraction from start to target. The target
// must lie above the purge gas's own content. A target already met needs none.
func (s Sweep) VolumeTo(start, target units.MoleFraction) (units.Volume, error) {
	if err := s.Check(); err != nil {
		return 0, err
	}
	excess, err := excessRatio("purge.Sweep.VolumeTo", start, target, s.Purge)
	if err != nil {
		return 0, err
	}
	if !(excess > 1) {
		return 0, nil
	}
	return s.Volume * units.Volume(math.Log(excess)/s.Mixing), nil
}

// TimeTo returns how long the flow, m³/s at the pressure and temperature of the
// circuit, above 0, takes to bring the fraction from start to target.
func (s Sweep) TimeTo(start, target units.MoleFraction, flow units.VolumeFlow) (time.Duration, error) {
	const fn = "purge.Sweep.TimeTo"
	swept, err := s.VolumeTo(start, target)
	if err != nil {
		return 0, err
	}
	return timeFor(fn, swept, flow)
}

// LeftAfter returns the mole fraction after the flow, m³/s at the pressure and
// temperature of the circuit, 0 or more, has run for a time of 0 or more.
func (s Sweep) LeftAfter(start units.MoleFraction, flow units.VolumeFlow, after time.Duration) (units.MoleFraction, error) {
	const fn = "purge.Sweep.LeftAfter"
	if err := units.CheckRange(fn, "flow", float64(flow), 0, math.MaxFloat64, "m³/s"); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "after", after.Seconds(), 0, math.MaxFloat64, "s"); err != nil {
		return 0, err
	}
	return s.Left(start, units.Volume(float64(flow)*after.Seconds()))
}

// MixingFrom returns the factor K that a sweep showed: the fraction went from
// start to end while the volume swept, m³, above 0, passed. Mixing is not read.
// A K above 1 means better than perfect mixing, that is nearer to plug flow;
// the result is then as high as it is, and a Sweep does not accept it.
func (s Sweep) MixingFrom(start, end units.MoleFraction, swept units.Volume) (float64, error) {
	const fn = "purge.Sweep.MixingFrom"
	s.Mixing = 1
	if err := s.Check(); err != nil {
		return 0, err
	}
	if err := checkVolume(fn, "swept", swept); err != nil {
		return 0, err
	}
	excess, err := excessRatio(fn, start, end, s.Purge)
	if err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "start/end excess", excess, 1, math.MaxFloat64, ""); err != nil {
		return 0, err
	}
	return math.Log(excess) * float64(s.Volume) / float64(swept), nil
}

// PlugLeft returns the share of the first gas still inside when purge gas
// pushes it out without mixing: 1 - changes, and 0 from one change on. The
// argument changes is purge volume over swept volume, 0 or more.
func PlugLeft(changes float64) (float64, error) {
	if err := units.CheckRange("purge.PlugLeft", "changes", changes, 0, math.MaxFloat64, "volumes"); err != nil {
		return 0, err
	}
	return math.Max(0, 1-changes), nil
}

// Washout returns the fraction of the first concentration that still leaves n
// equal, perfectly mixed tanks in series, 1 to 1e6 of them, after changes
// volumes of purge gas, 0 or more:
//
//	1 - F = exp(-n c) Σ_{i<n} (n c)^i / i!
//
// (Levenspiel, Chemical Reaction Engineering, 3rd ed., ch. 14). One tank is
// perfect mixing; with many the step of plug flow sharpens at one change. The
// share still inside is WashoutInside. The sum is evaluated as the regularised
// incomplete gamma function it equals.
func Washout(n int, changes float64) (float64, error) {
	if err := checkTanks("purge.Washout", n, changes); err != nil {
		return 0, err
	}
	return mathext.GammaIncRegComp(float64(n), float64(n)*changes), nil
}

// WashoutInside returns the share of the first gas that is still inside n equal
// tanks in series after changes volumes of purge gas, averaged over the tanks.
// It is what a later mixing, as by a pull and a break, would spread evenly. It
// equals the integral of Washout from changes to infinity.
func WashoutInside(n int, changes float64) (float64, error) {
	if err := checkTanks("purge.WashoutInside", n, changes); err != nil {
		return 0, err
	}
	// ∫_c^∞ Q(n, n x) dx = Q(n+1, n c) - c Q(n, n c), by parts.
	a, x := float64(n), float64(n)*changes
	if math.IsInf(x, 1) {
		return 0, nil
	}
	// Far out the two terms cancel; there Q(n+1, x) = Q(n, x) + x^n e^-x / n!.
	lead, _ := math.Lgamma(a + 1)
	jump := math.Exp(a*math.Log(x) - x - lead)
	if x == 0 {
		jump = 0
	}
	// What is left of the difference far out is round-off and may be below 0.
	return math.Max(0, (1-changes)*mathext.GammaIncRegComp(a, x)+jump), nil
}

// WashoutTo returns the volumes of purge gas after which the concentration that
// leaves n equal tanks in series, 1 to 1e6, has fallen to the fraction left,
// 1e-12 to 1, of the first. It inverts Washout.
func WashoutTo(n int, left float64) (float64, error) {
	const fn = "purge.WashoutTo"
	if err := checkTanks(fn, n, 0); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "left", left, 1e-12, 1, ""); err != nil {
		return 0, err
	}
	if left == 1 {
		return 0, nil
	}
	lo, hi := 0.0, 1.0
	for mathext.GammaIncRegComp(float64(n), float64(n)*hi) > left {
		lo, hi = hi, 2*hi
	}
	for hi-lo > 1e-15*hi {
		mid := lo + (hi-lo)/2
		if mid == lo || mid == hi {
			break
		}
		if mathext.GammaIncRegComp(float64(n), float64(n)*mid) > left {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi, nil
}

func checkTanks(fn string, n int, changes float64) error {
	if err := units.CheckRange(fn, "n", float64(n), 1, 1e6, "tanks"); err != nil {
		return err
	}
	return units.CheckRange(fn, "changes", changes, 0, math.MaxFloat64, "volumes")
}

// SiphonVolume returns the purge gas, m³ at the pressure and temperature of the
// vessel, that a siphon purge takes: the vessel is filled with liquid, purge
// gas follows the liquid out (one vessel volume), and a sweep of the same gas
// space takes the residue in its gas from start to target (Crowl and Louvar,
// ch. 7). A refrigeration circuit is never filled with water; the form is here
// for vessels and for teaching.
func SiphonVolume(vessel Sweep, start, target units.MoleFraction) (units.Volume, error) {
	sweep, err := vessel.VolumeTo(start, target)
	if err != nil {
		return 0, err
	}
	return vessel.Volume + sweep, nil
}

// timeFor is volume over flow as a duration, refused when it overflows one.
func timeFor(fn string, volume units.Volume, flow units.VolumeFlow) (time.Duration, error) {
	if err := units.CheckRange(fn, "flow", float64(flow), math.SmallestNonzeroFloat64, math.MaxFloat64, "m³/s"); err != nil {
		return 0, err
	}
	return duration(fn, "time needed", float64(volume)/float64(flow))
}

// longest is the longest time that a time.Duration is asked to hold here, s.
const longest = 9e9 // 285 years

// duration turns seconds into a time.Duration, refused when it overflows one.
func duration(fn, name string, seconds float64) (time.Duration, error) {
	if err := units.CheckRange(fn, name, seconds, 0, longest, "s"); err != nil {
		return 0, err
	}
	return time.Duration(seconds * float64(time.Second)), nil
}
