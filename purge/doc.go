// Package purge models what dry nitrogen does for a refrigeration circuit: how
// far it dilutes the air and vapour inside, how much water it can carry away
// at most, when breaking a vacuum with it makes vapour condense, how much
// nitrogen that takes, and whole procedures run on a circuit.
//
// # What it models
//
//   - Dilution of a gas that is well mixed: Cycles (vacuum, pressure and
//     combined cycles), Sweep (sweep-through with a mixing factor), plug flow
//     (PlugLeft), tanks in series (Washout), siphon (SiphonVolume), each with
//     impure purge gas and each solved both ways.
//   - WaterLeft: the closed forms as one call, from an opened volume and the
//     air that entered it to the water left and its dew or frost point.
//   - Bounds on what nitrogen can carry: SweepBound, WetFlowCarry, FilmBound,
//     FillCarry.
//   - Condensation on breaking a vacuum: VapourAfterBreak and
//     HighestDryBreakPressure for a well-mixed gas, a piston and a dead leg.
//   - Heat during a hold: ThawHeat, ThawTime, AfterHold, and HeatPath for the
//     share of the heat supply that gas carries.
//   - Whole jobs: Job (read from JSON by ReadJob), Procedure and its steps, Run
//     with its Record (samples, stages, a water ledger for each), Compare, and
//     Hinges for what the answer hangs on.
//   - Bands and Drivers: how far an answer is known when its inputs are not, and
//     which inputs that comes from; CompareRigs and MakePlan: what another rig
//     buys, and the fastest plan that leaves a circuit dry enough.
//   - Nitrogen used, in moles, kilograms, volumes at a stated reference and
//     shares of a cylinder; the correction of a float-type flow meter.
//
// # What it leaves out
//
// The dilution formulas hold for water vapour in the gas and for nothing else.
// Liquid water, ice, water in oil and water on walls are not diluted: nitrogen
// absorbs no water, it only carries vapour away as fast as the store gives it
// up. WaterLeft refuses a circuit that holds any of them (ErrNotVapour); a
// simulation of the circuit with its stores has the answer. Gases are ideal
// throughout, which for water vapour below 1 kPa is within 0.05 % and for
// nitrogen below 40 bar within about 1 % (from memory). Mixing times are not
// modelled by the closed forms, only by the mixing factor the caller gives.
//
// # Cautions
//
// Nitrogen from a cylinder goes through a regulator and past a relief valve set below
// the rating of the weakest part; never oxygen or compressed air, and never into a
// closed end. Nitrogen that leaves displaces the air one breathes: let it out in the
// open or in a room that is ventilated. Refrigerant is recovered, not let out; that and
// work on pressure equipment and its electrical parts is for licensed people under local
// codes. Job.Rating is what the writer states; a run stops above it, which protects
// nothing but the record.
//
// # Units and ranges
//
// Pressures are absolute, Pa; amounts are mol, masses kg, volumes m³. A
// concentration is a mole fraction of any one species, oxygen as well as water
// vapour. Arguments outside their range give a *units.RangeError; nothing is
// clamped.
//
// # Sources
//
//	D. A. Crowl and J. F. Louvar, Chemical Process Safety, ch. 7: cycles and
//	  sweep-through, cited as "Crowl and Louvar".
//	C. Branan, Rules of Thumb for Chemical Engineers: worked examples.
//	NFPA 69, annex: the mixing factor.
//	O. Levenspiel, Chemical Reaction Engineering, 3rd ed., ch. 14: tanks in
//	  series.
//	M. Kutz (ed.), Mechanical Engineers' Handbook, vol. 2, eq. (27) of
//	  "Temperature and Flow Transducers": float-type meters.
//	JCGM 101:2008: propagation of distributions by Monte Carlo.
//	M. McKay, R. Beckman and W. Conover, Technometrics 21 (1979) 239: Latin
//	  hypercube sampling.
//	A. Saltelli et al., Comput. Phys. Commun. 181 (2010) 259, and M. Jansen,
//	  Comput. Phys. Commun. 117 (1999) 35: sensitivity indices.
//	I. Catton, Proc. 6th Int. Heat Transfer Conf. (1978): free convection.
//
// The values that the tests hold the package to stand in
// testdata/published/purge.csv and testdata/recomputed/purge.csv, each with
// its source.
//
// All values are safe for concurrent use; the package has no state.
package purge
