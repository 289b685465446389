package units

// GasConstant is the molar gas constant R in J/(mol·K), exact since the 2019
// revision of the SI: k·N_A = 1.380649e-23 × 6.02214076e23.
const GasConstant = 8.31446261815324

// The conversions below hold for an ideal gas. None of them checks its
// arguments: temperatures, volumes and molar masses must be above 0 and finite,
// otherwise the result is an infinity or NaN.

// MolarFlow returns the amount of ideal gas per time, q/(R T), that throughput
// q carries at temperature t, above 0 (not checked).
func (q Throughput) MolarFlow(t Temperature) MolarFlow {
	return MolarFlow(float64(q) / (GasConstant * float64(t)))
}

// Throughput returns n R T, the flow n as pressure times volume at temperature t.
func (n MolarFlow) Throughput(t Temperature) Throughput {
	return Throughput(float64(n) * GasConstant * float64(t))
}

// MassFlow returns q M/(R T), the mass per time that throughput q of a gas of
// molar mass m carries at temperature t, above 0 (not checked).
func (q Throughput) MassFlow(m MolarMass, t Temperature) MassFlow {
	return q.MolarFlow(t).MassFlow(m)
}

// Throughput returns f R T/M, the mass flow f of a gas of molar mass m, above 0
// (not checked), as pressure times volume at temperature t.
func (f MassFlow) Throughput(m MolarMass, t Temperature) Throughput {
	return f.MolarFlow(m).Throughput(t)
}

// MassFlow returns n M, the mass per time of the molar flow n.
func (n MolarFlow) MassFlow(m MolarMass) MassFlow {
	return MassFlow(float64(n) * float64(m))
}

// MolarFlow returns f/M, the amount per time in mass flow f of a substance of
// molar mass m, above 0 (not checked).
func (f MassFlow) MolarFlow(m MolarMass) MolarFlow {
	return MolarFlow(float64(f) / float64(m))
}

// Mass returns n M, the mass of amount n of a substance of molar mass m.
func (n Amount) Mass(m MolarMass) Mass { return Mass(float64(n) * float64(m)) }

// Amount returns m/M, the amount of substance in mass m at molar mass molar,
// above 0 (not checked).
func (m Mass) Amount(molar MolarMass) Amount { return Amount(float64(m) / float64(molar)) }

// Amount returns p V/(R T), the amount of ideal gas at pressure p in volume v at
// temperature t, above 0 (not checked).
func (p Pressure) Amount(v Volume, t Temperature) Amount {
	return Amount(float64(p) * float64(v) / (GasConstant * float64(t)))
}

// Pressure returns n R T/V, the pressure of amount n of ideal gas in volume v,
// above 0 (not checked), at temperature t.
func (n Amount) Pressure(v Volume, t Temperature) Pressure {
	return Pressure(float64(n) * GasConstant * float64(t) / float64(v))
}
