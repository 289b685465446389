package vacuum

import (
	"math"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// mixture is a set of gases prepared at one temperature: all that a flow law
// needs without a power, a root or a logarithm. It is read-only once made.
type mixture struct {
	gases     []Gas
	t         float64                         // K
	molarMass [MaxSpecies]float64             // kg/mol
	speed     [MaxSpecies]float64             // most probable speed, m/s
	perSpeed  [MaxSpecies]float64             // its inverse, s/m
	viscosity [MaxSpecies]float64             // Pa·s
	choke     [MaxSpecies]float64             // square of the choked outflow function
	ratio     [MaxSpecies]float64             // pressure ratio where the ellipse of outflow is flat
	wilke     [MaxSpecies][MaxSpecies]float64 // Wilke's factors
	perDp     [MaxSpecies][MaxSpecies]float64 // inverse of the binary D·p, s/(Pa·m²)
	pure      blend                           // of the first gas alone
}

// newMixture prepares checked gases, at most MaxSpecies, at t in K.
func newMixture(gases []Gas, t float64) *mixture {
	m := &mixture{gases: gases}
	m.prepare(t)
	return m
}

// at is the same mixture at t.
func (m *mixture) at(t float64) *mixture {
	if m.t == t {
		return m
	}
	return newMixture(m.gases, t)
}

// prepare fills in everything that depends on temperature.
func (m *mixture) prepare(t float64) {
	m.t = t
	for i := range m.gases {
		g := &m.gases[i]
		m.molarMass[i] = float64(g.MolarMass)
		m.speed[i] = probableSpeed(m.molarMass[i], t)
		m.perSpeed[i] = 1 / m.speed[i]
		m.viscosity[i] = float64(g.ViscosityLaw(units.Temperature(t)))
		m.choke[i] = chokedOutflow(g.HeatCapacityRatio)
		m.ratio[i] = 1 - m.choke[i]
	}
	for i := range m.gases {
		for j := range m.gases {
			m.wilke[i][j] = wilkeFactor(m.viscosity[i], m.viscosity[j], m.molarMass[i], m.molarMass[j])
			m.perDp[i][j] = 1 / diffusionPressure(&m.gases[i], &m.gases[j], t)
		}
	}
	m.pure = blend{
		viscosity: m.viscosity[0], speed: m.speed[0], molarMass: m.molarMass[0], choke: m.choke[0], ratio: m.ratio[0],
		perDelta: 1 / (m.viscosity[0] * m.speed[0]),
	}
}

// blend holds the properties of a mixture at one composition.
type blend struct {
	viscosity, speed, molarMass, choke, ratio float64
	perDelta                                  float64 // 1/(viscosity·speed), 1/(Pa·m)
}

// blend mixes by mole fractions x: viscosity by Wilke's rule, the speed
// linearly, because the molecular flows of the species add, and the choked
// outflow linearly between its pure values. Against the outflow for the mixed
// heat capacities that is 0.1 % high in flow for air with water vapour, and up
// to 6 % for a monatomic gas with a heavy refrigerant.
func (m *mixture) blend(x *[MaxSpecies]float64) (b blend) {
	if len(m.gases) == 1 {
		return m.pure
	}
	m.mix(x, &b)
	return b
}

// mix is blend for two gases or more, without a copy of the answer.
func (m *mixture) mix(x *[MaxSpecies]float64, b *blend) {
	if len(m.gases) == 2 {
		m.mixTwo(x[0], x[1], b)
		return
	}
	*b = blend{}
	for i := range m.gases {
		sum := 0.0
		for j := range m.gases {
			sum += x[j] * m.wilke[i][j]
		}
		b.viscosity += x[i] * m.viscosity[i] / sum
		b.speed += x[i] * m.speed[i]
		b.molarMass += x[i] * m.molarMass[i]
		b.choke += x[i] * m.choke[i]
		b.ratio += x[i] * m.ratio[i]
	}
	b.perDelta = 1 / (b.viscosity * b.speed)
}

// mixTwo is mix for two gases, with Wilke's rule as one fraction. Their factors
// with themselves are 1.
func (m *mixture) mixTwo(x, y float64, b *blend) {
	sumX, sumY := x+y*m.wilke[0][1], x*m.wilke[1][0]+y
	above, below := x*m.viscosity[0]*sumY+y*m.viscosity[1]*sumX, sumX*sumY
	b.speed = x*m.speed[0] + y*m.speed[1]
	b.molarMass = x*m.molarMass[0] + y*m.molarMass[1]
	b.choke = x*m.choke[0] + y*m.choke[1]
	b.ratio = x*m.ratio[0] + y*m.ratio[1]
	b.viscosity = above / below
	b.perDelta = below / (above * b.speed)
}

// viscositySlopes are the derivatives of the blend's viscosity by each mole
// fraction, the others unchanged.
func (m *mixture) viscositySlopes(x, by *[MaxSpecies]float64) {
	for i := range m.gases {
		sum := 0.0
		for j := range m.gases {
			sum += x[j] * m.wilke[i][j]
		}
		own := m.viscosity[i] / sum
		by[i] += own
		for j := range m.gases {
			by[j] -= x[i] * own * m.wilke[i][j] / sum
		}
	}
}

// traceFraction keeps Blanc's rule defined where no other species is present.
const traceFraction = 1e-9

// hindrance is 1/(D·p) in s/(Pa·m²) of species i among the others at mole
// fractions x, by Blanc's rule, and the sum of their fractions; there are two
// species or more.
func (m *mixture) hindrance(i int, x *[MaxSpecies]float64) (perDp, amount float64) {
	if len(m.gases) == 2 {
		return m.perDp[i][1-i], x[1-i] + traceFraction
	}
	sum := 0.0
	for j := range m.gases {
		if j != i {
			share := x[j] + traceFraction
			amount += share
			sum += share * m.perDp[i][j]
		}
	}
	return sum / amount, amount
}

// wilkeFactor is phi_ij of C. R. Wilke, J. Chem. Phys. 18 (1950) 517, eq. (14).
func wilkeFactor(mui, muj, mi, mj float64) float64 {
	a := 1 + math.Sqrt(mui/muj)*math.Sqrt(math.Sqrt(mj/mi))
	return a * a / math.Sqrt(8*(1+mi/mj))
}

// diffusionPressure is the binary diffusion coefficient times pressure, Pa·m²/s.
// Water in air or nitrogen follows Marrero and Mason; other pairs Fuller's
// estimate; a gas in itself (6/5)·A·µ·RT/M with A = 1.10, Chapman-Enskog.
func diffusionPressure(a, b *Gas, t float64) float64 {
	if a.Name == b.Name {
		return 1.32 * float64(a.ViscosityLaw(units.Temperature(t))) * units.GasConstant * t / float64(a.MolarMass)
	}
	water := WaterVapour().Name
	if a.Name == water && isAirLike(b.Name) || b.Name == water && isAirLike(a.Name) {
		return waterInAir(t)
	}
	return fuller(a, b, t)
}

func isAirLike(name string) bool { return name == airName || name == nitrogenName }

// waterInAir is D·p of water vapour in air or nitrogen; moisture.Diffusivity
// names the source and the error, 5 %. Below its range the equation goes on.
func waterInAir(t float64) float64 { return moisture.DiffusivityMarreroMason().Eval(t) }

// fuller is D·p by E. N. Fuller, P. D. Schettler and J. C. Giddings, Ind. Eng.
// Chem. 58 (1966) 18, in the form of Reid, Prausnitz and Poling (from memory);
// about 5 %, 10 % for refrigerants.
func fuller(a, b *Gas, t float64) float64 {
	mab := 2e3 / (1/float64(a.MolarMass) + 1/float64(b.MolarMass))
	v := math.Cbrt(a.DiffusionVolume) + math.Cbrt(b.DiffusionVolume)
	return 1e5 * 1e-4 * 0.00143 * math.Pow(t, 1.75) / (math.Sqrt(mab) * v * v)
}

// criticalRatio is the pressure ratio at which a nozzle chokes.
func criticalRatio(gamma float64) float64 {
	return math.Pow(2/(gamma+1), gamma/(gamma-1))
}

// chokedOutflow is the square of the choked mass flux in units of p·√(M/(RT)).
func chokedOutflow(gamma float64) float64 {
	return gamma * math.Pow(2/(gamma+1), (gamma+1)/(gamma-1))
}
