package vacuum

import (
	"fmt"
	"math"

	"example.com/drydown/units"
)

// Tube is a plain tube of the given inner diameter and length.
func Tube(bore, length units.Length) Passage {
	return Passage{{Name: "tube", Bore: bore, Length: length}}
}

// Orifice is a hole in a thin plate.
func Orifice(bore units.Length) Passage {
	return Passage{{Name: "orifice", Bore: bore}}
}

// Capillary is a capillary tube used as expansion device. Its bore enters to
// the fourth power.
func Capillary(bore, length units.Length) Passage {
	return Passage{{Name: "capillary", Bore: bore, Length: length}}
}

// ExpansionOrifice is a fixed-orifice expansion device, or an expansion valve
// nearly closed, given by the diameter of the opening.
func ExpansionOrifice(bore units.Length) Passage {
	return Passage{{Name: "expansion orifice", Bore: bore}}
}

// NearlyClosed is a valve of the given bore shut down to a share of its free
// area, above 0 to 1: a needle or ball just cracked, an expansion valve at rest.
// What is open is taken as one round hole with sharp edges. The real gap is a
// crescent or a ring, which in thin gas passes as much as a hole of its area
// and in dense slow gas less. With another share its Check fails.
func NearlyClosed(bore units.Length, open float64) Passage {
	if !(open > 0 && open <= 1) {
		return refused("valve nearly closed", "open", open, "above 0 to 1")
	}
	return Passage{{Name: "valve nearly closed", Bore: bore * units.Length(math.Sqrt(open))}}
}

// HoseWith is a hose of inner diameter bore and length without its end fittings,
// which have a bore and a length of the caller's own and come on top.
func HoseWith(bore, length, fittingBore, fittingLength units.Length) Passage {
	fitting := Segment{Name: "hose fitting", Bore: fittingBore, Length: fittingLength}
	return Passage{fitting, {Name: "hose", Bore: bore, Length: length}, fitting}
}

// Coil is a heat exchanger of equal circuits side by side, each of the given
// bore and length.
func Coil(bore, length units.Length, circuits int) Passage {
	return Passage{{Name: "coil", Bore: bore, Length: length, Count: circuits}}
}

// BallValve is an open full-bore ball valve: a tube of its bore and length.
func BallValve(bore, length units.Length) Passage {
	return Passage{{Name: "ball valve", Bore: bore, Length: length}}
}

// Bend is a bend of the given bore, length along its axis and angle in degrees,
// 0 to 360, as a straight tube longer by 1.33·(angle/180)·bore (W. Umrath, ed.,
// Fundamentals of Vacuum Technology, sec. 1.5.3, from memory). With another angle
// its Check fails.
func Bend(bore, axial units.Length, angle float64) Passage {
	if !(angle >= 0 && angle <= 360) {
		return refused("bend", "angle", angle, "0 to 360")
	}
	return Passage{{Name: "bend", Bore: bore, Length: axial + units.Length(1.33*angle/180)*bore}}
}

// refused is a passage without a size, whose Check says why.
func refused(name, arg string, v float64, accepted string) Passage {
	return Passage{{Name: fmt.Sprintf("%s: %s = %g, accepted %s", name, arg, v, accepted), Bore: units.Length(math.NaN())}}
}

// Default sizes of the parts below; all common practice, none measured. Write
// the Passage out with the part's own sizes when they are known.
const (
	// HoseFittingShare is the bore of a hose's end fitting over the hose's bore.
	HoseFittingShare = 0.75
	// HoseFittingLength is the length of one end fitting.
	HoseFittingLength = 25 * units.Millimetre
	// ValveCoreBore and ValveCoreLength stand for a valve core pressed open: one
	// round hole with about the flow of the crescent around its pin.
	ValveCoreBore   = 2.2 * units.Millimetre
	ValveCoreLength = 10 * units.Millimetre
	// CoreToolBore and CoreToolLength are the free way through a core removal
	// tool with the core pulled back.
	CoreToolBore   = 6 * units.Millimetre
	CoreToolLength = 70 * units.Millimetre
)

// Hose is a hose of inner diameter bore with a narrower fitting at each end,
// HoseFittingShare of its bore and HoseFittingLength long (common practice).
// length is that without the fittings, which come on top.
func Hose(bore, length units.Length) Passage {
	return HoseWith(bore, length, HoseFittingShare*bore, HoseFittingLength)
}

// ValveCore is a valve core left in place and pressed open, ValveCoreBore by
// ValveCoreLength (common practice).
func ValveCore() Passage {
	return Passage{{Name: "valve core", Bore: ValveCoreBore, Length: ValveCoreLength}}
}

// CoreTool is a core removal tool, CoreToolBore by CoreToolLength (common
// practice), with the core still in place or pulled back.
func CoreTool(coreIn bool) Passage {
	tool := Passage{{Name: "core tool", Bore: CoreToolBore, Length: CoreToolLength}}
	if coreIn {
		return Series(ValveCore(), tool)
	}
	return tool
}
