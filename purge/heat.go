package purge

import (
	"math"
	"time"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// Heat capacities and the heat of fusion, J/(kg K) and J/kg, taken constant:
// over the 30 K either side of melting that matter in service ice varies by 8 %
// and liquid by 1 %.
const (
	iceHeatCapacity    = 2096.784 // IAPWS R10-06(2009) Table 6, 273.16 K
	liquidHeatCapacity = 4219.9   // IAPWS R6-95, saturated liquid at 273.16 K
	heatOfFusion       = float64(moisture.LatentHeatFusion)
)

// Wet is a patch of free water at one temperature.
type Wet struct {
	// Ice and Liquid are the masses, kg, 0 or more, not both zero.
	Ice, Liquid units.Mass
	// Temperature is that of the water, K, 173.15 to 473.15: at most 273.16 with
	// any ice, at least 273.16 with any liquid.
	Temperature units.Temperature
}

// Check reports the first field that is missing or out of range.
func (w Wet) Check() error {
	const fn = "purge.Wet"
	if err := units.CheckRange(fn, "Ice", float64(w.Ice), 0, math.MaxFloat64, "kg"); err != nil {
		return err
	}
	if err := units.CheckRange(fn, "Liquid", float64(w.Liquid), 0, math.MaxFloat64, "kg"); err != nil {
		return err
	}
	if err := units.CheckRange(fn, "Ice + Liquid", float64(w.Ice+w.Liquid), math.SmallestNonzeroFloat64, math.MaxFloat64, "kg"); err != nil {
		return err
	}
	lo, hi := lowestTemperature, highestTemperature
	if w.Liquid > 0 {
		lo = float64(moisture.TriplePoint)
	}
	if w.Ice > 0 {
		hi = float64(moisture.TriplePoint)
	}
	return units.CheckRange(fn, "Temperature", float64(w.Temperature), lo, hi, "K")
}

// ThawHeat returns the heat that warms the ice of w to the melting point and
// melts it, J: m_ice [c_ice (273.16 K - T) + 333.44 kJ/kg]. It is zero when
// there is no ice.
func ThawHeat(w Wet) (units.Energy, error) {
	if err := w.Check(); err != nil {
		return 0, err
	}
	below := float64(moisture.TriplePoint - w.Temperature)
	if w.Ice == 0 {
		return 0, nil
	}
	return units.Energy(float64(w.Ice) * (iceHeatCapacity*below + heatOfFusion)), nil
}

// Held is a patch of water after a hold.
type Held struct {
	Wet
	// Heat is what the wall gave to the water during the hold, J.
	Heat units.Energy
}

// AfterHold returns the water after it has taken up heat from a wall through ua,
// W/K, 0 or more, for the time hold, 0 or more: ice warms towards the wall as
// 1 - exp(-UA t/(m c)), melts at 273.16 K at the constant rate UA (T_wall -
// 273.16 K), and the puddle warms towards the wall. The wall is at wall, K, at
// least the temperature of the water.
//
// Nothing evaporates in this formula. Evaporation cools the water and takes
// 2.5 kJ for each gram, so it is an upper bound on the warming while nitrogen
// stands over the water, and wrong during a pull.
func AfterHold(w Wet, wall units.Temperature, ua units.HeatConductance, hold time.Duration) (Held, error) {
	const fn = "purge.AfterHold"
	if err := checkHold(fn, w, wall, ua); err != nil {
		return Held{}, err
	}
	if err := units.CheckRange(fn, "hold", hold.Seconds(), 0, longest, "s"); err != nil {
		return Held{}, err
	}
	h, left := Held{Wet: w}, hold.Seconds()
	if w.Ice > 0 && w.Temperature < moisture.TriplePoint {
		left = h.warm(iceHeatCapacity*float64(w.Ice), moisture.TriplePoint, wall, ua, left)
	}
	if h.Ice > 0 && h.Temperature >= moisture.TriplePoint {
		left = h.melt(wall, ua, left)
	}
	if h.Ice == 0 {
		h.warm(liquidHeatCapacity*float64(h.Liquid), units.Temperature(math.Inf(1)), wall, ua, left)
	}
	return h, nil
}

// warm takes the water of heat capacity c, J/K, towards the wall for at most
// left seconds, no further than to, and returns the seconds that remain.
func (h *Held) warm(c float64, to, wall units.Temperature, ua units.HeatConductance, left float64) float64 {
	gap := float64(wall - h.Temperature)
	if gap == 0 || ua == 0 || left == 0 {
		return 0
	}
	took := left
	if to < wall {
		took = math.Min(left, c/float64(ua)*math.Log(gap/float64(wall-to)))
	}
	rise := -gap * math.Expm1(-float64(ua)*took/c)
	h.Heat += units.Energy(c * rise)
	h.Temperature += units.Temperature(rise)
	if took < left {
		h.Temperature = to
	}
	return left - took
}

// melt turns ice to liquid at the melting point for at most left seconds and
// returns the seconds that remain.
func (h *Held) melt(wall units.Temperature, ua units.HeatConductance, left float64) float64 {
	power := float64(ua) * float64(wall-moisture.TriplePoint)
	need := float64(h.Ice) * heatOfFusion
	if power*left < need {
		melted := units.Mass(power * left / heatOfFusion)
		h.Heat += units.Energy(power * left)
		h.Ice, h.Liquid = h.Ice-melted, h.Liquid+melted
		return 0
	}
	h.Heat += units.Energy(need)
	h.Ice, h.Liquid = 0, h.Liquid+h.Ice
	return left - need/power
}

// ThawTime returns how long a hold must be to melt all ice of w, with wall and
// ua as for AfterHold. The wall must be above 273.16 K and ua above 0 when there
// is ice. Without ice it is zero.
func ThawTime(w Wet, wall units.Temperature, ua units.HeatConductance) (time.Duration, error) {
	const fn = "purge.ThawTime"
	if err := checkHold(fn, w, wall, ua); err != nil {
		return 0, err
	}
	if w.Ice == 0 {
		return 0, nil
	}
	warmest := math.Nextafter(float64(moisture.TriplePoint), math.MaxFloat64)
	if err := units.CheckRange(fn, "wall", float64(wall), warmest, highestTemperature, "K"); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "ua", float64(ua), math.SmallestNonzeroFloat64, math.MaxFloat64, "W/K"); err != nil {
		return 0, err
	}
	above := float64(wall - moisture.TriplePoint)
	warming := iceHeatCapacity * math.Log(float64(wall-w.Temperature)/above)
	return duration(fn, "time needed", float64(w.Ice)/float64(ua)*(warming+heatOfFusion/above))
}

func checkHold(fn string, w Wet, wall units.Temperature, ua units.HeatConductance) error {
	if err := w.Check(); err != nil {
		return err
	}
	if err := units.CheckRange(fn, "wall", float64(wall), float64(w.Temperature), highestTemperature, "K"); err != nil {
		return err
	}
	return units.CheckRange(fn, "ua", float64(ua), 0, math.MaxFloat64, "W/K")
}

// HeatPath is a heat supply of which gas carries a share, across a gap.
type HeatPath struct {
	// UA is the heat conductance with still nitrogen dense enough that the gap
	// does not matter to its conduction, W/K, 0 or more.
	UA units.HeatConductance
	// GasShare is the part of UA that needs gas to carry it, 0 to 1. The rest
	// goes through metal and water and does not care about pressure. Zero means
	// that a break brings no heat at all.
	GasShare float64
	// Gap is the distance that the gas bridges, m, above 0 when GasShare is.
	Gap units.Length
	// Jump is the coefficient c of the temperature jump in k/(1 + c λ/gap), at
	// least 0: see JumpCoefficient. Zero means no jump, that is conduction that
	// does not depend on pressure.
	Jump float64
}

// JumpCoefficient returns c for a gap between two walls, the jump at both
// counted: 2 (2-α)/α · 2γ/(γ+1)/Pr, with the thermal accommodation coefficient
// alpha, above 0 to 1, and for nitrogen γ = 1.4 and Pr = 0.71 (E. H. Kennard,
// Kinetic Theory of Gases, 1938, from memory). It is 3.3 at α = 1.
func JumpCoefficient(alpha float64) (float64, error) {
	if err := units.CheckRange("purge.JumpCoefficient", "alpha", alpha, math.SmallestNonzeroFloat64, 1, ""); err != nil {
		return 0, err
	}
	const gamma, prandtl = 1.4, nitrogenPrandtl
	return 2 * (2 - alpha) / alpha * 2 * gamma / (gamma + 1) / prandtl, nil
}

// nitrogenPrandtl is the Prandtl number of nitrogen near room temperature
// (common practice).
const nitrogenPrandtl = 0.71

// Check reports the first field that is missing or out of range.
func (h HeatPath) Check() error {
	const fn = "purge.HeatPath"
	if err := units.CheckRange(fn, "UA", float64(h.UA), 0, math.MaxFloat64, "W/K"); err != nil {
		return err
	}
	if err := units.CheckRange(fn, "GasShare", h.GasShare, 0, 1, ""); err != nil {
		return err
	}
	if err := units.CheckRange(fn, "Jump", h.Jump, 0, math.MaxFloat64, ""); err != nil {
		return err
	}
	if h.GasShare == 0 {
		return nil
	}
	return units.CheckRange(fn, "Gap", float64(h.Gap), 1e-6, 10, "m")
}

// At returns the heat conductance with nitrogen at pressure p, Pa absolute, 0
// or more, between walls at warm and cold, K, 173.15 to 473.15, warm at least
// cold:
//
//	UA [(1 - s) + s Nu/(1 + c λ/gap)]
//
// with the mean free path λ at the mean temperature and Nu from FreeConvection.
// From a few hundred pascal up a gap of millimetres conducts as at ambient
// pressure; the share is never proportional to pressure.
func (h HeatPath) At(p units.Pressure, warm, cold units.Temperature) (units.HeatConductance, error) {
	const fn = "purge.HeatPath.At"
	if err := h.Check(); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "p", float64(p), 0, 1e7, "Pa"); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "cold", float64(cold), lowestTemperature, highestTemperature, "K"); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "warm", float64(warm), float64(cold), highestTemperature, "K"); err != nil {
		return 0, err
	}
	metal := h.UA * units.HeatConductance(1-h.GasShare)
	if h.GasShare == 0 || p == 0 {
		return metal, nil
	}
	mean := (warm + cold) / 2
	nitrogen := vacuum.Nitrogen()
	path, err := nitrogen.MeanFreePath(mean, p)
	if err != nil {
		return 0, err
	}
	mu, err := nitrogen.Viscosity(mean)
	if err != nil {
		return 0, err
	}
	nusselt, err := FreeConvection(rayleigh(p, warm, cold, h.Gap, mu))
	if err != nil {
		return 0, err
	}
	carried := nusselt / (1 + h.Jump*float64(path/h.Gap))
	return metal + h.UA*units.HeatConductance(h.GasShare*carried), nil
}

// rayleigh is g ΔT gap³ ρ² Pr/(T µ²) for nitrogen.
func rayleigh(p units.Pressure, warm, cold units.Temperature, gap units.Length, mu units.Viscosity) float64 {
	const gravity = 9.80665
	mean := float64(warm+cold) / 2
	density := float64(p) * float64(NitrogenMolarMass) / (units.GasConstant * mean)
	cube := float64(gap) * float64(gap) * float64(gap)
	return gravity * float64(warm-cold) / mean * cube * density * density * nitrogenPrandtl / (float64(mu) * float64(mu))
}

// FreeConvection returns the Nusselt number of nitrogen in a space about as high
// as wide, heated from the side, at Rayleigh number ra, 0 to 1e10:
//
//	0.18 [Pr/(0.2 + Pr) Ra]^0.29
//
// (B. M. Berkovsky and V. K. Polevikov 1977 as given by I. Catton 1978 for
// heights of 1 to 2 widths, from memory), and 1, conduction alone, where that is
// less or the bracket is below 370. The puddle in package moisture uses the same.
func FreeConvection(ra float64) (float64, error) {
	if err := units.CheckRange("purge.FreeConvection", "ra", ra, 0, 1e10, ""); err != nil {
		return 0, err
	}
	x := ra * nitrogenPrandtl / (0.2 + nitrogenPrandtl)
	if x < 370 {
		return 1, nil
	}
	return math.Max(1, 0.18*math.Pow(x, 0.29)), nil // Catton 1978
}
