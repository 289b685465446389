package vacuum

import (
	"fmt"
	"math"

	"example.com/drydown/units"
)

// Flow coefficients of a valve: the water flow in m³/h at a pressure drop of 1
// bar (Kv) or in US gallons per minute at 1 psi (Cv).
const kvPerCv = 0.865

// KvFromCv is Kv = 0.865·Cv in m³/h (IEC 60534, from memory); cv in US gal/min,
// 1e-8 to 1e6.
func KvFromCv(cv float64) (float64, error) {
	if err := units.CheckRange("vacuum.KvFromCv", "cv", cv, 1e-8, 1e6, "US gal/min"); err != nil {
		return 0, err
	}
	return kvPerCv * cv, nil
}

// ValveSizing asks for the flow coefficient of a control valve that passes a
// given gas flow, by IEC 60534-2-1. The symbols in brackets are the standard's.
type ValveSizing struct {
	// MolarMass of the gas, kg/mol (M, there in g/mol), 0.001 to 1.
	MolarMass units.MolarMass
	// HeatCapacityRatio of the gas (γ), 1.01 to 5/3.
	HeatCapacityRatio float64
	// Viscosity of the gas at the inlet, Pa·s, 1e-7 to 1.
	Viscosity units.Viscosity
	// Compressibility of the gas at the inlet (Z), 0.05 to 5; zero means 1.
	Compressibility float64
	// Temperature at the inlet, K (T1), 150 to 2000.
	Temperature units.Temperature
	// Up and Down are the pressures before and behind the valve with its
	// reducers, Pa (P1, P2), Up above Down above 0.
	Up, Down units.Pressure
	// Flow of the gas, mol/s, 1e-12 to 1e6. A flow Q in m³/s at 273.15 K and
	// 101325 Pa is Q/0.022414 mol/s.
	Flow units.MolarFlow
	// Bore of the valve, m (d); zero leaves out reducers and laminar flow.
	Bore units.Length
	// PipeUp and PipeDown are the inner diameters of the pipes, m (D1, D2), at
	// least Bore; zero means Bore, no reducers.
	PipeUp, PipeDown units.Length
	// ChokedDropRatio is Δp/Up at which the flow of air chokes in the valve alone
	// (xT), 0.05 to 1.
	ChokedDropRatio float64
	// Recovery is the liquid pressure recovery factor (FL), 0.1 to 1; zero means
	// 0.9. It enters laminar flow only.
	Recovery float64
	// StyleModifier tells how round the opening is (Fd), 0.01 to 1; zero means
	// 1. It enters laminar flow only.
	StyleModifier float64
}

// ValveSize is the answer to a ValveSizing.
type ValveSize struct {
	// Kv is the flow coefficient of the valve, m³/h (C).
	Kv float64
	// Choked is true when a lower pressure behind the valve would not add flow.
	Choked bool
	// Expansion is the factor for the falling density (Y), 2/3 to 1.
	Expansion float64
	// Reynolds is the Reynolds number of the valve (Rev), zero without Bore.
	Reynolds float64
	// Piping is the factor of the reducers (FP), 1 without.
	Piping float64
	// Laminar is the factor by which laminar or transitional flow falls short
	// of the turbulent law (FR), 1 from Rev = 10000.
	Laminar float64
}

// ControlValve is a valve with flow coefficient kv, m³/h, as a way for gas: the
// sharp-edged hole that chokes at the flow of IEC 60534-2-1, sized for a
// chokedDropRatio (xT of the standard, 0.05 to 1). At small differences it
// passes more than the standard by √(1.93·xT), 16 % at 0.7, the price of one
// hole for both; FlowCoefficient is right there instead. In laminar and
// molecular flow it is a guess. kv is 1e-7 to 1e5; KvFromCv helps with Cv.
func ControlValve(kv, chokedDropRatio float64) (Passage, error) {
	err := checkBounds("vacuum.ControlValve", bound{"kv", kv, 1e-7, 1e5, "m³/h"}, bound{"chokedDropRatio", chokedDropRatio, 0.05, 1, ""})
	if err != nil {
		return nil, err
	}
	// The flow of air at Y = 2/3 over p·√(choke/(M·R·T)); p, M and T drop out.
	area := iecN9 * kv * 2 / 3 / (3.6e6 * normalVolume) * math.Sqrt(chokedDropRatio*units.GasConstant/(1e3*chokedOutflow(1.4)))
	bore := math.Sqrt(4 * area / (orificeDischarge * math.Pi))
	return Passage{{Name: fmt.Sprintf("valve, Kv %g", kv), Bore: units.Length(bore)}}, nil
}

// Constants of the standard for Kv, mm, kPa, m³/h at 0 °C and kg/kmol.
const (
	iecN2  = 1.6e-3
	iecN4  = 7.07e-2
	iecN5  = 1.8e-3
	iecN9  = 24.6
	iecN18 = 0.865
	iecN32 = 140

	iecTurbulent = 10000 // Reynolds number of the valve
	normalVolume = units.GasConstant * 273.15 / 101325
)

// Size is the flow coefficient by IEC 60534-2-1, clauses for compressible
// fluids: turbulent with reducers (factors FP and xTP, solved by iteration) or,
// below a valve Reynolds number of 10000, laminar and transitional (FR). The
// expansion factor keeps the xT of the valve alone. Two rules of the procedure
// coarsen the answer: iteration for reducers ends when a step changes the
// coefficient by less than 1 %, and the laminar coefficient is raised from the
// turbulent one by factors of 1.3 until turbulent coefficient over FR fits (the
// rule of the editions before 2011), so it lies up to 30 % high.
//
// FR, its two kinds of trim and the Reynolds number from the actual flow at the
// inlet follow annex A of the edition of 2011. Left out is the annex's own flow
// equation for gas below Reynolds 10000 (A.3 to A.5: N22, Δp·(P1+P2), another
// expansion factor), because two readings of that factor disagree; the turbulent
// equation with its choking is used there. Up to the factor the two agree at
// small Δp/P1. Reducers are left out of laminar flow.
//
// Errors name the field out of range; units.ErrNoConvergence is returned when
// the reducers alone would use up the pressure difference.
func (v ValveSizing) Size() (ValveSize, error) {
	v = v.withDefaults()
	if err := v.check(); err != nil {
		return ValveSize{}, err
	}
	x := float64((v.Up - v.Down) / v.Up)
	gammaFactor := v.HeatCapacityRatio / 1.4
	limit := gammaFactor * v.ChokedDropRatio
	s := ValveSize{
		Choked: x >= limit, Piping: 1, Laminar: 1,
		Expansion: math.Max(1-x/(3*limit), 2.0/3),
	}
	s.Kv = v.turbulent(&s, math.Min(x, limit))
	if v.Bore == 0 {
		return s, nil
	}
	s.Reynolds = v.reynolds(s.Kv)
	switch {
	case s.Reynolds <= iecTurbulent:
		return v.laminar(s)
	case v.PipeUp != v.Bore || v.PipeDown != v.Bore:
		return v.reduced(s, x, gammaFactor)
	}
	return s, nil
}

// withDefaults fills in what zero stands for.
func (v ValveSizing) withDefaults() ValveSizing {
	for _, d := range []struct {
		field *float64
		value float64
	}{{&v.Compressibility, 1}, {&v.Recovery, 0.9}, {&v.StyleModifier, 1}} {
		if *d.field == 0 {
			*d.field = d.value
		}
	}
	if v.PipeUp == 0 {
		v.PipeUp = v.Bore
	}
	if v.PipeDown == 0 {
		v.PipeDown = v.Bore
	}
	return v
}

func (v *ValveSizing) check() error {
	const fn = "vacuum.ValveSizing"
	err := checkBounds(fn,
		bound{"MolarMass", float64(v.MolarMass), 1e-3, 1, "kg/mol"},
		bound{"HeatCapacityRatio", v.HeatCapacityRatio, 1.01, 5.0/3 + 0.01, ""}, // the standard's own example has 1.67
		bound{"Viscosity", float64(v.Viscosity), 1e-7, 1, "Pa·s"},
		bound{"Compressibility", v.Compressibility, 0.05, 5, ""},
		bound{"Temperature", float64(v.Temperature), 150, 2000, "K"},
		bound{"Up", float64(v.Up), 1, 1e9, "Pa"},
		bound{"Down", float64(v.Down), 1e-3, float64(v.Up) * (1 - 1e-9), "Pa"},
		bound{"Flow", float64(v.Flow), 1e-12, 1e6, "mol/s"},
		bound{"ChokedDropRatio", v.ChokedDropRatio, 0.05, 1, ""},
		bound{"Recovery", v.Recovery, 0.1, 1, ""},
		bound{"StyleModifier", v.StyleModifier, 0.01, 1, ""})
	if err != nil || v.Bore == 0 {
		return err
	}
	return checkBounds(fn, bound{"Bore", float64(v.Bore), 1e-4, 10, "m"},
		bound{"PipeUp", float64(v.PipeUp), float64(v.Bore), 10, "m"},
		bound{"PipeDown", float64(v.PipeDown), float64(v.Bore), 10, "m"})
}

// normalFlow is the flow in m³/h at 0 °C and 101325 Pa.
func (v *ValveSizing) normalFlow() float64 { return float64(v.Flow) * normalVolume * 3600 }

// turbulent is the coefficient for the drop ratio x that counts.
func (v *ValveSizing) turbulent(s *ValveSize, x float64) float64 {
	upKPa, m := float64(v.Up)/1e3, 1e3*float64(v.MolarMass)
	return v.normalFlow() / (iecN9 * s.Piping * upKPa * s.Expansion) *
		math.Sqrt(m*float64(v.Temperature)*v.Compressibility/x)
}

// reynolds is the valve Reynolds number at coefficient kv. Its flow is the actual
// one at the inlet, for gas too (annex A, note to A.1), so that flow over
// kinematic viscosity is mass flow over viscosity, whatever the pressure.
func (v *ValveSizing) reynolds(kv float64) float64 {
	rho := float64(v.Up) * float64(v.MolarMass) / (v.Compressibility * units.GasConstant * float64(v.Temperature))
	nu := float64(v.Viscosity) / rho
	actual := 3600 * float64(v.Flow) * float64(v.MolarMass) / rho // m³/h at the inlet
	mm := 1e3 * float64(v.PipeUp)
	square := v.Recovery * kv / (mm * mm)
	return iecN4 * v.StyleModifier * actual / (nu * math.Sqrt(kv*v.Recovery)) *
		math.Sqrt(math.Sqrt(square*square/iecN2+1))
}

// reduced iterates for the reducers between pipes and valve.
func (v *ValveSizing) reduced(s ValveSize, x, gammaFactor float64) (ValveSize, error) {
	share := func(pipe units.Length) float64 { r := float64(v.Bore / pipe); return r * r }
	b1, b2 := share(v.PipeUp), share(v.PipeDown)
	inlet := 0.5*(1-b1)*(1-b1) + 1 - b1*b1     // ξ1 + ξB1
	all := inlet + (1-b2)*(1-b2) - (1 - b2*b2) // + ξ2 - ξB2
	mm := 1e3 * float64(v.Bore)
	const most = 100
	for range most {
		c := s.Kv / (mm * mm)
		s.Piping = 1 / math.Sqrt(1+all/iecN2*c*c)
		choke := v.ChokedDropRatio / (s.Piping * s.Piping) / (1 + v.ChokedDropRatio*inlet/iecN5*c*c) // xTP
		s.Choked = x >= gammaFactor*choke
		next := v.turbulent(&s, math.Min(x, gammaFactor*choke))
		done := s.Kv >= 0.99*next
		if s.Kv = next; done {
			return s, nil
		}
		if !(next < 1e12) {
			break
		}
	}
	return s, fmt.Errorf("vacuum.ValveSizing: %w: the reducers take all of the pressure difference of %g Pa", units.ErrNoConvergence, float64(v.Up-v.Down))
}

// laminar raises the turbulent coefficient until it suffices at the Reynolds
// number that it makes itself.
func (v *ValveSizing) laminar(s ValveSize) (ValveSize, error) {
	const most = 400
	turbulent, kv := s.Kv, s.Kv
	for range most {
		try := 1.3 * kv
		s.Reynolds = v.reynolds(try)
		s.Laminar = v.laminarFactor(try, s.Reynolds)
		if s.Laminar > 0 && turbulent/s.Laminar <= try {
			s.Kv = try
			return s, nil
		}
		kv = try
	}
	return s, fmt.Errorf("vacuum.ValveSizing: %w: no flow coefficient up to %g m³/h passes the flow", units.ErrNoConvergence, kv)
}

// laminarFactor is FR of the standard (annex A, A.6 to A.8) for a trim of rated
// coefficient kv. A trim that fills its body, from kv = 0.016·N18·d² (d in mm),
// is full size; a smaller one is reduced. Full size ends at kv = 0.04·d², the
// annex's limit; beyond, its n is kept. At Reynolds 10 FR steps: only from
// there on the transitional law, lower at first, may bind.
func (v *ValveSizing) laminarFactor(kv, re float64) float64 {
	mm := 1e3 * float64(v.Bore)
	c := kv / (mm * mm)
	n := 1 + iecN32*math.Cbrt(c*c) // reduced trim, A.8b
	if c >= 0.016*iecN18 {
		c = math.Min(c, 0.04)
		n = iecN2 / (c * c) // full size, A.8a
	}
	deep := math.Min(1, 0.026/v.Recovery*math.Sqrt(n*re))
	if re < 10 {
		return deep
	}
	return math.Min(deep, 1+0.33*math.Sqrt(v.Recovery)/math.Sqrt(math.Sqrt(n))*math.Log10(re/iecTurbulent))
}
