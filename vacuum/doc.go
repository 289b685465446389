// Package vacuum computes how gas and water vapour leave a refrigeration
// circuit through real hoses and core tools: flow from choked to molecular,
// pumps, gauges, and the pull-down of any circuit of volumes with water in it.
//
// # What it models
//
//   - Gas: molar mass, dilute viscosity, heat-capacity ratio, mean free path
//     (Gas); mixtures by Wilke's rule, with the linear one to compare.
//   - Passage: tubes, orifices, hoses, valve cores, core tools, driers, coils and
//     expansion devices in series; ValveSizing for control valves. One law,
//     continuous and monotone in both pressures, meets the molecular, transitional,
//     laminar, turbulent and choked limits; vapour also crosses by binary diffusion
//     while nothing flows.
//   - Path: what holds a system back on its way to the pump, what a swapped part
//     would change, and the bore that a measured pull-down tells.
//   - Pump: displacement or speed curve, blank-off and the gas that comes back at
//     it, gas ballast, water vapour tolerance, water in the oil (PumpOil) and the
//     blank-off that follows.
//   - Gauge: range, resolution, thermal gauges in mixtures (ThermalResponse),
//     dials against the open air (CompoundGauge).
//   - Circuit and Simulation: a graph of volumes with species and water stores,
//     integrated with error control (an L-stable Rosenbrock method of order 5),
//     events and a ledger that closes to round-off. The cost of a step grows
//     linearly with the number of volumes of a tree-like circuit.
//   - TwoSided and Network: circuits of the usual rigs, and of pipe networks cut
//     into cells to an accuracy.
//   - Closed forms beside the simulation: PullDown and its methods, LaminarTubeTime,
//     KnudsenTubeTime, BallastTolerance, IsothermalDryingTime, and the textbook
//     conductances.
//
// # What it leaves out
//
// Gas is ideal and has the temperature of its node's wall; temperature jumps
// along a passage, thermal transpiration and the inertia of gas columns are left
// out. A volume is well mixed: a long dead leg is cut into several nodes (Network
// does it). A pump's oil has one temperature and mixes at once. Thermal gauges
// are linear in the pressures of the gases, which holds up to about 100 Pa. Short
// passages between the molecular and the choked limit have no published
// reference; Passage.Uncertainty says how much that may matter.
//
// # Units, ranges, errors
//
// Coherent SI behind the types of package units. Circuits are accepted from
// 1e-12 to 1e6 m³ per node, 150 to 600 K and up to 20 MPa; the flow law is
// tested from 1e-2 Pa to 1 MPa. Data out of range is a units.RangeError inside an
// error that names the part; nothing is clamped. A run that stops early keeps its
// record and ledger up to that point.
//
// # Sources
//
// S-model of the linearised Boltzmann equation for the transitional range;
// A. S. Berman, J. Appl. Phys. 36 (1965) 3356 for short tubes; ISO 6358 for the
// subsonic branch of choked flow; W. Umrath (ed.), Fundamentals of Vacuum
// Technology; ISO 21360-2 for the water vapour tolerance; E. W. Lemmon and
// R. T. Jacobsen, Int. J. Thermophys. 25 (2004) 21 and IAPWS R12-08 for
// viscosities; G. Steinebach, BIT Numer. Math. 63 (2023) 27 for the integrator.
// Each function names its own.
//
// # Where to start
//
// Build a Circuit, make a Simulation, call Run with a Condition, read Record and
// Ledger. For the usual rigs TwoSided has the circuit ready. For one hose, see
// Passage.Conductance and EffectiveSpeed; for the whole way to the pump, Path.
package vacuum
