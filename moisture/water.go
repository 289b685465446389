package moisture

import "example.com/drydown/units"

// MolarMass is the molar mass of water, 0.018015268 kg/mol, as used by IAPWS
// R6-95.
const MolarMass units.MolarMass = 0.018015268
