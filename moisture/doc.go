// Package moisture computes water in a refrigeration circuit: how it saturates,
// what it weighs, what heat it takes, where it hides and how fast it comes out.
//
// # Where to start
//
//   - SaturationPressure and SaturationTemperature answer "at what temperature
//     does water boil or sublime at this vacuum", and for which phase.
//   - LatentHeatVaporisation and LatentHeatSublimation give the heat that
//     drying takes, SaturatedVapourDensity and VapourProperties the vapour.
//   - AirAtHumidity describes ambient air, HumidAir.WaterIn and Port.Intake what a
//     circuit takes in from it, ResidualPoint the dew or frost point that water
//     left in a charge makes.
//   - Puddle is free water, Oil water dissolved in oil, Walls and Desiccant adsorbed
//     water, all ready to be simulated; Store is the contract they share.
//   - DryingPlateau, FreezingSpeed, IceLife and MeltingTime estimate drying without a
//     simulation, Outgassing what bare surfaces give off.
//   - DrynessOf adds up the water left and judges it against a limit or a drier;
//     FreeWaterInRefrigerant and FreeWaterInGas say whether it comes out at an
//     expansion device, and as what.
//
// # What is modelled
//
//   - Saturation over liquid, ice and the phase that is stable, both ways.
//   - Densities, enthalpies and latent heats of vapour, liquid and ice; the
//     melting curve of ice Ih.
//   - Humid air with the enhancement factor, dew and frost point, and what an open
//     circuit takes in by exchange and by diffusion.
//   - Viscosity, thermal conductivity and diffusion of dilute vapour.
//   - Stores with exact water balance: a puddle of liquid and ice with heat supply,
//     kinetics and gas film in series; oil; adsorbing walls and desiccant.
//   - Water solubility of the two refrigerants whose published column is confirmed. For
//     all others, and for oils without the caller's data, the answer is ErrNoData.
//
// # What is left out
//
//   - Salts, dirt and anything else dissolved in the water; surface curvature and
//     capillary forces; supercooled liquid; other ices than Ih.
//   - Hydrolysis of ester oils, which turns water into acid and cannot be
//     undone by a vacuum.
//   - Temperature differences inside a puddle, a changing surface area, splashing
//     and drops carried by gas.
//
// # Units, ranges, errors
//
// All values are coherent SI in the types of package units; pressures are
// absolute and temperatures in kelvin (ITS-90). Every checked function states
// its range and returns a units.RangeError outside it and for NaN; nothing is
// extrapolated in silence. A Correlation is the unchecked twin for hot loops: it
// neither errs nor allocates. All values are safe for concurrent use.
//
// # Sources
//
//   - IAPWS R7-97(2012), region 4: saturation over liquid.
//   - IAPWS R14-08(2011): sublimation and melting of ice Ih.
//   - IAPWS SR1-86(1992), W. Wagner and A. Pruss, J. Phys. Chem. Ref. Data 22
//     (1993) 783: second opinion, liquid density and enthalpy.
//   - IAPWS R6-95(2018): vapour, developed to the fourth virial coefficient.
//   - IAPWS R10-06(2009): ice Ih.
//   - IAPWS R12-08(2008) and R15-11(2011): viscosity and thermal conductivity, in
//     the limit of low density.
//   - T. R. Marrero and E. A. Mason, J. Phys. Chem. Ref. Data 1 (1972) 3:
//     diffusion in air and nitrogen.
//   - B. Hardy, 3rd Int. Symp. on Humidity and Moisture, 1998: enhancement factor;
//     ASHRAE Handbook, Fundamentals 2017, ch. 1: humid air.
//   - E. W. Lemmon and R. T. Jacobsen, Int. J. Thermophys. 25 (2004) 21: nitrogen.
//   - E. U. Schlünder 1972, V. Gnielinski 1975 and 2013: mass transfer in tubes; B. M.
//     Berkovsky and V. K. Polevikov 1977: free convection.
//   - ASHRAE Handbook, Refrigeration, ch. 6, Table 1: water in; ANSI/AHRI
//     700-2006 with Addendum 1, Table 1B: limits; ASTM D4056: straight isotherm of oil.
//
// The three formulations of saturation over liquid differ on purpose, by up to
// 100 ppm between 0 and 100 °C; R7-97 is the one used throughout.
package moisture
