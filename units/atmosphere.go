package units

import "math"

// Constants of the standard atmosphere below 11 km, ISO 2533:1975 (the same in
// the US Standard Atmosphere 1976).
const (
	seaLevelPressure    = 101325.0      // p0, Pa
	seaLevelTemperature = 288.15        // T0, K
	lapseRate           = 0.0065        // L, K/m
	standardGravity     = 9.80665       // g0, m/s²
	airMolarMass        = 28.9644e-3    // M0, kg/mol
	isoGasConstant      = 8314.32e-3    // R* as printed there, J/(mol·K)
	lowestAltitude      = Length(-5000) // m
	tropopause          = Length(11000) // m
)

// StandardAtmosphere returns the ambient pressure in Pa of the standard
// atmosphere at a geopotential altitude of -5000 to 11000 m. Metres from a map
// or a receiver are geometric; taking them for geopotential ones costs less than
// 0.04 % up to 4000 m. The real ambient differs by the weather, some 3 % either
// way, so a measured pressure is better where one is at hand. An altitude
// outside the range is a RangeError.
//
// Source: ISO 2533:1975, p = p0 (1 - L H/T0)^(g0 M0/(R* L)).
func StandardAtmosphere(altitude Length) (Pressure, error) {
	if err := CheckRange("units.StandardAtmosphere", "altitude", float64(altitude),
		float64(lowestAltitude), float64(tropopause), "m"); err != nil {
		return 0, err
	}
	const exponent = standardGravity * airMolarMass / (isoGasConstant * lapseRate) // 5.255876
	base := 1 - lapseRate*float64(altitude)/seaLevelTemperature
	return Pressure(seaLevelPressure * math.Pow(base, exponent)), nil
}
