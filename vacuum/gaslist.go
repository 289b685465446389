package vacuum

import (
	"math"

	"example.com/drydown/units"
)

// The constants of this list come in two grades. Molar masses and the laws
// graded PublishedEvidence follow published reference equations whose constants
// were read in a public data file (the fluid files of CoolProp) that names them.
// R-1234yf and the blends rest on an unpublished fit; Gas.Uncertainty gives
// their estimated error and they gate no test. Heat-capacity ratios are
// ideal-gas values at 25 °C; a flow depends on them by less than a third of
// their error. Those of and R-1234yf follow from the ideal-gas heat
// capacities of the same files, the rest is from memory, 1 %.

// Oxygen is O2, viscosity from the same source as Nitrogen, 1 %.
func Oxygen() Gas {
	const m = 0.0319988
	return Gas{
		Name: "oxygen", MolarMass: m, HeatCapacityRatio: 1.395, DiffusionVolume: 16.3,
		ViscosityLaw: lennardJones(m, 0.3428, 118.5, &lemmonJacobsen),
		Uncertainty:  0.01, Evidence: PublishedEvidence,
		Source: "Lemmon and Jacobsen, Int. J. Thermophys. 25 (2004) 21, dilute term",
	}
}

// Argon is Ar, viscosity from the same source as Nitrogen, 0.5 %.
func Argon() Gas {
	const m = 0.039948
	return Gas{
		Name: "argon", MolarMass: m, HeatCapacityRatio: 5.0 / 3, DiffusionVolume: 16.2,
		ViscosityLaw: lennardJones(m, 0.335, 143.2, &lemmonJacobsen),
		Uncertainty:  0.005, Evidence: PublishedEvidence,
		Source: "Lemmon and Jacobsen, Int. J. Thermophys. 25 (2004) 21, dilute term",
	}
}

// Helium is He, the tracer of leak tests, with the viscosity of V. D. Arp, R. D.
// McCarty and D. G. Friend, NIST Technical Note 1334 (revised 1998), eq. 22,
// for more than 100 K; 1 %.
func Helium() Gas {
	return Gas{
		Name: "helium", MolarMass: 0.004002602, HeatCapacityRatio: 5.0 / 3, DiffusionVolume: 2.67,
		ViscosityLaw: func(t units.Temperature) units.Viscosity {
			k := float64(t)
			return units.Viscosity(196e-7 * math.Pow(k, 0.71938) * math.Exp(12.451/k-295.67/(k*k)-4.1249))
		},
		Uncertainty: 0.01, Evidence: PublishedEvidence,
		Source: "Arp, McCarty and Friend, NIST TN 1334 (1998), dilute term above 100 K",
	}
}

// CarbonDioxide is CO2, the refrigerant R-744, with the viscosity of A.
// Fenghour, W. A. Wakeham and V. Vesovic, J. Phys. Chem. Ref. Data 27 (1998)
// 31; 1 % from 200 K up.
func CarbonDioxide() Gas {
	return Gas{
		Name: "carbon dioxide", MolarMass: 0.0440098, HeatCapacityRatio: 1.289, DiffusionVolume: 26.9,
		ViscosityLaw: lennardJones(0.0440098, 1, 251.196, &fenghour),
		Uncertainty:  0.01, Evidence: PublishedEvidence,
		Source: "Fenghour, Wakeham and Vesovic, J. Phys. Chem. Ref. Data 27 (1998) 31, dilute term",
	}
}

// fenghour has the diameter in its factor, 1.00697 µPa·s for a molar mass of
// 44.0098 g/mol; read-only.
var fenghour = collision{
	1.00697 / 6.633988242, // √44.0098
	[5]float64{0.235156, -0.491266, 0.05211155, 0.05347906, -0.01537102},
}

// R22 is chlorodifluoromethane, with the parameters of S. A. Klein, M. O.
// McLinden and A. Laesecke, Int. J. Refrig. 20 (1997) 208; 3 %.
func R22() Gas {
	return published(estimated("R-22", 0.086468, 1.174, 68.6, 0.4666, 284.72, 0.03),
		"Klein, McLinden and Laesecke, Int. J. Refrig. 20 (1997) 208")
}

// R32 is difluoromethane, with the parameters of M. L. Huber, A. Laesecke and R.
// A. Perkins, Ind. Eng. Chem. Res. 42 (2003) 3163; 3 %.
func R32() Gas {
	return published(estimated("R-32", 0.052024, 1.240, 49.9, 0.4098, 289.65, 0.03),
		"Huber, Laesecke and Perkins, Ind. Eng. Chem. Res. 42 (2003) 3163")
}

// R1234yf is 2,3,3,3-tetrafluoropropene. Its parameters, 0.5328 nm and 281.14
// K, are in the fluid files of CoolProp but rest on an unpublished fit; 3 %.
func R1234yf() Gas { return estimated("R-1234yf", 0.1140416, 1.089, 111.1, 0.5328, 281.14, 0.03) }

// R125 is pentafluoroethane, with the parameters of M. L. Huber and A. Laesecke,
// Ind. Eng. Chem. Res. 45 (2006) 4447.
func R125() Gas {
	return published(estimated("R-125", 0.1200214, 1.10, 107.6, 0.5235, 237.077, 0.02),
		"Huber and Laesecke, Ind. Eng. Chem. Res. 45 (2006) 4447")
}

// published grades a gas whose Lennard-Jones parameters were read.
func published(g Gas, source string) Gas {
	g.Evidence, g.Source = PublishedEvidence, "Chapman-Enskog with Neufeld's integral; parameters of "+source
	return g
}

// R134a is 1,1,1,2-tetrafluoroethane.
func R134a() Gas {
	const m = 0.102032
	return Gas{
		Name: "R-134a", MolarMass: m, HeatCapacityRatio: 1.11, DiffusionVolume: 95.2,
		ViscosityLaw: lennardJones(m, 0.46893, 299.363, &huber134a),
		Uncertainty:  0.015, Evidence: PublishedEvidence,
		Source: "Huber, Laesecke and Perkins, Ind. Eng. Chem. Res. 42 (2003) 3163, dilute term",
	}
}

// R290 is propane.
func R290() Gas {
	const m = 0.0440956
	return Gas{
		Name: "R-290", MolarMass: m, HeatCapacityRatio: 1.13, DiffusionVolume: 66.2,
		ViscosityLaw: lennardJones(m, 0.49748, 263.88, &vogelPropane),
		Uncertainty:  0.01, Evidence: PublishedEvidence,
		Source: "Vogel et al., J. Phys. Chem. Ref. Data 27 (1998) 947, dilute term",
	}
}

// R600a is isobutane.
func R600a() Gas {
	const m = 0.0581222
	return Gas{
		Name: "R-600a", MolarMass: m, HeatCapacityRatio: 1.10, DiffusionVolume: 86.7,
		ViscosityLaw: lennardJones(m, 0.46445, 307.55, &vogelIsobutane),
		Uncertainty:  0.01, Evidence: PublishedEvidence,
		Source: "Vogel et al., Int. J. Thermophys. 21 (2000) 343, dilute term",
	}
}

// R410A is the blend of, half of the mass each (composition
// published by NIST), as one gas; viscosity 4 %.
func R410A() Gas { return massBlend("R-410A", R32(), R125(), 0.5) }

// R454B is the blend of R-32 and R-1234yf, 68.9 % and 31.1 % of the mass
// (composition: help of the equation solver EES, property function R454B), as
// one gas; viscosity 4 %.
func R454B() Gas { return massBlend("R-454B", R32(), R1234yf(), 0.689) }

// massBlend is two gases as one, a with mass fraction share: Wilke's rule for
// the viscosity, mole fractions for the rest.
func massBlend(name string, a, b Gas, share float64) Gas {
	na, nb := share/float64(a.MolarMass), (1-share)/float64(b.MolarMass)
	x := [MaxSpecies]float64{na / (na + nb), nb / (na + nb)}
	degrees := x[0]/(a.HeatCapacityRatio-1) + x[1]/(b.HeatCapacityRatio-1) // cv/R
	return Gas{
		Name: name, MolarMass: units.MolarMass(1 / (na + nb)), HeatCapacityRatio: 1 + 1/degrees,
		ViscosityLaw: func(t units.Temperature) units.Viscosity {
			ma, mb := float64(a.MolarMass), float64(b.MolarMass)
			va, vb := float64(a.ViscosityLaw(t)), float64(b.ViscosityLaw(t))
			return units.Viscosity(x[0]*va/(x[0]+x[1]*wilkeFactor(va, vb, ma, mb)) +
				x[1]*vb/(x[1]+x[0]*wilkeFactor(vb, va, mb, ma)))
		},
		DiffusionVolume: x[0]*a.DiffusionVolume + x[1]*b.DiffusionVolume,
		Uncertainty:     0.04, Evidence: EstimatedEvidence,
		Source: "Wilke's rule from " + a.Name + " and " + b.Name,
	}
}

// estimated is a gas with Lennard-Jones parameters that have no published source.
func estimated(name string, m, gamma, volume, sigma, eps, uncertainty float64) Gas {
	return Gas{
		Name: name, MolarMass: units.MolarMass(m), HeatCapacityRatio: gamma, DiffusionVolume: volume,
		ViscosityLaw: ChapmanEnskog(units.MolarMass(m), units.Length(sigma*1e-9), units.Temperature(eps)),
		Uncertainty:  uncertainty, Evidence: EstimatedEvidence,
		Source: "Chapman-Enskog with Neufeld's integral; unpublished Lennard-Jones parameters",
	}
}

// ChapmanEnskog is the viscosity of a Lennard-Jones gas of molar mass m in
// kg/mol, collision diameter sigma in m and well depth eps over Boltzmann's
// constant in K, with the collision integral of P. D. Neufeld, A. R. Janzen and
// R. A. Aziz, J. Chem. Phys. 57 (1972) 1100, without its oscillating term. Use
// it for a gas of your own.
func ChapmanEnskog(m units.MolarMass, sigma units.Length, eps units.Temperature) ViscosityLaw {
	nm := float64(sigma) * 1e9
	return func(t units.Temperature) units.Viscosity {
		x := float64(t / eps)
		omega := 1.16145*math.Pow(x, -0.14874) + 0.52487*math.Exp(-0.77320*x) + 2.16178*math.Exp(-2.43787*x)
		return units.Viscosity(1e-6 * 0.0266958 * math.Sqrt(1e3*float64(m)*float64(t)) / (nm * nm * omega))
	}
}
