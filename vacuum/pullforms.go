package vacuum

import (
	"math"
	"time"

	"example.com/drydown/units"
)

// PressureAt is the pressure in Pa after the time since the pull began, 0 or
// more: floor + (Start - floor)·exp(-S·t/V). End plays no part.
func (p *PullDown) PressureAt(since time.Duration) (units.Pressure, error) {
	const fn = "vacuum.PullDown.PressureAt"
	if err := p.checkStart(fn); err != nil {
		return 0, err
	}
	if err := p.checkAbove(fn, "Start", p.Start); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "since", since.Seconds(), 0, 9.2e9, "s"); err != nil {
		return 0, err
	}
	floor := p.Floor()
	return floor + (p.Start-floor)*units.Pressure(math.Exp(-float64(p.Speed)*since.Seconds()/float64(p.Volume))), nil
}

// SpeedFor is the pumping speed at the system, m³/s, that brings the pressure
// from Start to End in the given time, above 0, with the load and the blank-off
// as they are; Speed plays no part. Without load it is (V/t)·ln[(Start -
// BlankOff)/(End - BlankOff)]. It is an error when End is not above BlankOff, or
// no speed from 1e-15 to 1e6 m³/s takes that time.
func (p *PullDown) SpeedFor(took time.Duration) (units.VolumeFlow, error) {
	const fn = "vacuum.PullDown.SpeedFor"
	q := *p
	q.Speed = 1e6
	if err := q.check(fn); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "took", took.Seconds(), 1e-9, 9.2e9, "s"); err != nil {
		return 0, err
	}
	seconds := func(speed float64) float64 {
		floor := float64(p.BlankOff) + float64(p.Load)/speed
		return float64(p.Volume) / speed * math.Log((float64(p.Start)-floor)/(float64(p.End)-floor))
	}
	// The least speed that a load leaves has End for its floor and takes for ever.
	least, slowest := float64(p.Load)/float64(p.End-p.BlankOff), math.MaxFloat64
	if least < 1e-15 {
		least, slowest = 1e-15, seconds(1e-15)
	}
	if err := units.CheckRange(fn, "took", took.Seconds(), seconds(1e6), slowest, "s"); err != nil {
		return 0, err
	}
	lnSpeed := risingRoot(func(x float64) float64 {
		s := math.Exp(x)
		if s <= least {
			return math.Inf(-1)
		}
		return math.Log(took.Seconds() / seconds(s))
	}, math.Log(least)+1e-12, math.Log(1e6))
	return units.VolumeFlow(math.Exp(lnSpeed)), nil
}

// VapourLeft is the share of water vapour left after a pump has swept a volume
// for a time at constant temperature with no source of water: exp(-S·t/V). It
// holds at and below the blank-off too, where the whole pressure stands still,
// because each species leaves by its own pressure.
func (p *PullDown) VapourLeft(since time.Duration) (float64, error) {
	const fn = "vacuum.PullDown.VapourLeft"
	err := checkBounds(fn, bound{"Volume", float64(p.Volume), 1e-12, 1e9, "m³"}, bound{"Speed", float64(p.Speed), 1e-15, 1e6, "m³/s"},
		bound{"since", since.Seconds(), 0, 9.2e9, "s"})
	if err != nil {
		return 0, err
	}
	return math.Exp(-float64(p.Speed) * since.Seconds() / float64(p.Volume)), nil
}
