package moisture

import (
	"math"
	"time"

	"example.com/drydown/units"
)

// Plateau is the steady state of free water that a pump dries out: heat through
// metal brings what evaporation takes.
type Plateau struct {
	Temperature units.Temperature // of the water, K
	Pressure    units.Pressure    // saturation at Temperature, Pa
	Rate        units.MassFlow    // evaporation, kg/s
	Phase       Phase             // liquid or ice
}

// DryingPlateau returns the steady state of water on a wall at wall, 273.16 to
// 340 K, when the pump has the effective speed given, above 0 m³/s at the water and
// at wall temperature, and heat comes with the conductance supply, above 0 W/K:
// supply (wall - T) = speed p(T) M/(R wall) L(T), an energy balance. Kinetics and gas film are left out, so that the
// rate is an upper bound. Water that can stay liquid is taken to; at slightly
// higher speed than FreezingSpeed only ice can. Outside the ranges, and when the
// ice would be below 173.15 K, the error is a RangeError.
func DryingPlateau(supply units.HeatConductance, speed units.VolumeFlow, wall units.Temperature) (Plateau, error) {
	const fn, coldest = "moisture.DryingPlateau", 173.15
	c := checks{fn: fn}
	c.positive("supply", float64(supply), "W/K")
	c.positive("speed", float64(speed), "m³/s")
	c.within("wall", float64(wall), tripleT, 340, "K")
	if c.err != nil {
		return Plateau{}, c.err
	}
	carry := float64(speed) * float64(MolarMass) / (molarGas * float64(wall)) // kg/(s Pa)
	liquidLack := func(t float64) float64 {
		return carry*liquidPressure(t)*vaporisationHeat(t) - float64(supply)*(float64(wall)-t)
	}
	iceLack := func(t float64) float64 {
		return carry*icePressure(t)*sublimationHeat(t) - float64(supply)*(float64(wall)-t)
	}
	if liquidLack(tripleT) <= 0 {
		t := bisect(liquidLack, tripleT, float64(wall))
		return plateauAt(t, carry*liquidPressure(t), Liquid), nil
	}
	if iceLack(coldest) > 0 {
		most := float64(supply) * (float64(wall) - coldest) / (icePressure(coldest) * sublimationHeat(coldest)) *
			molarGas * float64(wall) / float64(MolarMass)
		return Plateau{}, &units.RangeError{Func: fn, Arg: "speed", Unit: "m³/s", Value: float64(speed), Min: math.SmallestNonzeroFloat64, Max: most}
	}
	t := bisect(iceLack, coldest, tripleT)
	return plateauAt(t, carry*icePressure(t), Ice), nil
}

func plateauAt(t, rate float64, phase Phase) Plateau {
	p := liquidPressure
	if phase == Ice {
		p = icePressure
	}
	return Plateau{units.Temperature(t), units.Pressure(p(t)), units.MassFlow(rate), phase}
}

// bisect finds the zero of a rising function between lo and hi, to round-off.
func bisect(f func(float64) float64, lo, hi float64) float64 {
	for range 100 {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			break
		}
		if f(mid) > 0 {
			hi = mid
		} else {
			lo = mid
		}
	}
	return lo
}

// Time returns how long the plateau lasts for the mass m of water, at least 0 kg.
// Outside the range, and beyond 292 years, the error is a RangeError.
func (p Plateau) Time(m units.Mass) (time.Duration, error) {
	c := checks{fn: "moisture.Plateau.Time"}
	c.atLeastZero("m", float64(m), "kg")
	c.positive("Rate", float64(p.Rate), "kg/s")
	if c.err != nil {
		return 0, c.err
	}
	return seconds("moisture.Plateau.Time", float64(m)/float64(p.Rate))
}

// seconds makes a duration, or an error when it does not fit.
func seconds(fn string, s float64) (time.Duration, error) {
	const most = math.MaxInt64 / 1e9 * (1 - 1e-12)
	if err := units.CheckRange(fn, "time", s, 0, most, "s"); err != nil {
		return 0, err
	}
	return time.Duration(s * 1e9), nil
}

// FreezingSpeed returns the effective pumping speed in m³/s, at the water and at
// wall temperature, above which free water freezes: evaporation at the triple
// point then takes more heat than supply, above 0 W/K, brings from a wall at wall,
// 273.16 to 340 K. S = supply (wall - Tt) R wall/(M pt Lv); energy balance. Outside
// the ranges the error is a RangeError.
func FreezingSpeed(supply units.HeatConductance, wall units.Temperature) (units.VolumeFlow, error) {
	c := checks{fn: "moisture.FreezingSpeed"}
	c.positive("supply", float64(supply), "W/K")
	c.within("wall", float64(wall), tripleT, 340, "K")
	if c.err != nil {
		return 0, c.err
	}
	carry := float64(MolarMass) / (molarGas * float64(wall)) * liquidPressure(tripleT) * vaporisationHeat(tripleT)
	return units.VolumeFlow(float64(supply) * (float64(wall) - tripleT) / carry), nil
}

// AdiabaticFreezingFraction returns the share of liquid water at start, 273.16 to
// 323.15 K, that must evaporate without any heat from outside until the rest is
// ice at the triple point: 0.11764 from 273.16 K. Cooling from start: dm L(T) = m c
// dT with L linear in T; freezing: Lf/(Lv + Lf) of what is left then; energy
// balance with the heat capacities of the Puddle. Outside the range the error is a
// RangeError.
func AdiabaticFreezingFraction(start units.Temperature) (float64, error) {
	const fn = "moisture.AdiabaticFreezingFraction"
	if err := units.CheckRange(fn, "start", float64(start), tripleT, 323.15, "K"); err != nil {
		return 0, err
	}
	const slope = liquidHeatCapacity - vapourHeatCapacity // L = Lt - slope (T - Tt)
	warm := 1 - slope*(float64(start)-tripleT)/vapourHeatAtTriple
	left := math.Pow(warm, liquidHeatCapacity/slope) * vapourHeatAtTriple / (vapourHeatAtTriple + fusion)
	return 1 - left, nil
}

// IceLife returns how long a lump of ice of mass m, at least 0 kg, lasts under
// vacuum while heat reaches it with the conductance supply, above 0 W/K, from a wall at
// wall, up to 400 K, and the pump holds the vapour over it at held, 1.201e-8 to 611.657
// Pa: m Ls/(supply (wall - Tf)) with Tf the frost temperature of held, 130 to 273.16 K,
// which must lie below wall. Energy balance; heat governs. Outside the ranges, and
// beyond 292 years, the error is a RangeError.
func IceLife(m units.Mass, supply units.HeatConductance, wall units.Temperature, held units.Pressure) (time.Duration, error) {
	const fn = "moisture.IceLife"
	c := checks{fn: fn}
	c.within("held", float64(held), icePressure(vapourMinT), icePressureMax(), "Pa")
	if c.err != nil {
		return 0, c.err
	}
	frost := iceTemperature(float64(held))
	c.atLeastZero("m", float64(m), "kg")
	c.positive("supply", float64(supply), "W/K")
	c.within("wall", float64(wall), math.Nextafter(frost, 1000), 400, "K")
	if c.err != nil {
		return 0, c.err
	}
	return seconds(fn, float64(m)*sublimationHeat(frost)/(float64(supply)*(float64(wall)-frost)))
}

// MeltingTime returns how long ice of mass m, at least 0 kg, at the melting point
// takes to melt under gas at more than the triple-point pressure while heat comes with
// the conductance supply, above 0 W/K, from a wall at wall, above 273.16 to 400 K: m Lf/(supply (wall
// - Tt)). Outside the ranges, and beyond 292 years, the error is a RangeError.
func MeltingTime(m units.Mass, supply units.HeatConductance, wall units.Temperature) (time.Duration, error) {
	const fn = "moisture.MeltingTime"
	c := checks{fn: fn}
	c.atLeastZero("m", float64(m), "kg")
	c.positive("supply", float64(supply), "W/K")
	c.within("wall", float64(wall), math.Nextafter(tripleT, 1000), 400, "K")
	if c.err != nil {
		return 0, c.err
	}
	return seconds(fn, float64(m)*fusion/(float64(supply)*(float64(wall)-tripleT)))
}
