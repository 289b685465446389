package moisture

import "example.com/drydown/units"

// Surroundings is what a store feels at its node at one instant. All fields
// are finite; a simulation clamps trial states before it fills them in.
type Surroundings struct {
	// Wall is the temperature of the metal at the node, K. The gas of a node
	// has the same temperature.
	Wall units.Temperature
	// Vapour is the partial pressure of water vapour, Pa, at least 0.
	Vapour units.Pressure
	// Dry is the partial pressure of all other gas, Pa, at least 0; zero means pure
	// vapour. It is not the difference of two pressures, whose round-off would be
	// felt: a trace of dry gas hinders condensation.
	Dry units.Pressure
	// ThroughFlow is the gas that passes through the node, mol/s, at least 0;
	// zero means gas at rest.
	ThroughFlow units.MolarFlow
}

// Store is a place where water hides: a puddle, oil, a wall, a desiccant. A
// simulation integrates its states together with the gas.
//
// A Store is read-only while a simulation runs: no method changes it, and it
// may serve several simulations at once. Rates is called for every trial state
// and allocates nothing; it must accept any finite state, including slightly
// negative contents, and clamp them for its own arithmetic only.
//
// The balance is exact by construction: total Content is linear in the states, and
// the returned release is minus the rate of the total content, computed from
// the same numbers.
type Store interface {
	// Check reports the first parameter that is missing or out of range.
	Check() error
	// Len is the number of state variables, at least 1; it never changes.
	Len() int
	// Start writes the initial states, given the surroundings at the start.
	// len(state) is Len.
	Start(state []float64, at Surroundings)
	// Rates writes the time derivative of each state into dst and returns the
	// water that goes to the gas in kg/s, negative when the store takes it up.
	Rates(dst, state []float64, at Surroundings) (release float64)
	// Pattern says which states the rates depend on.
	Pattern() Pattern
	// Content is the water in the store by form. The total is linear in the
	// states; the split between liquid and ice need not be.
	Content(state []float64) Content
	// Scale writes the magnitude of each state that still matters, in the
	// state's own unit and above 0; absolute tolerances and difference
	// increments are shares of it.
	Scale(dst []float64)
	// FadeMass is the water mass over which the last of the store fades out,
	// kg, above 0.
	FadeMass() units.Mass
}

// Pattern is the structure of a store's Jacobian: which rates depend on what.
// It may list more than there is, never less.
type Pattern struct {
	// States[i] lists the indices j of the states on which the rate of state i
	// depends. len(States) is Len.
	States [][]int
	// Feels[i] is true when the rate of state i depends on the gas pressures.
	// len(Feels) is Len.
	Feels []bool
	// Release lists the states on which the release depends. The release is
	// taken to depend on the gas pressures as well.
	Release []int
	// Flow is true when the rates depend on Surroundings.ThroughFlow.
	Flow bool
}

// DensePattern is the pattern of n states that all depend on one another and
// on the gas, its flow included.
func DensePattern(n int) Pattern {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	p := Pattern{States: make([][]int, n), Feels: make([]bool, n), Release: all, Flow: true}
	for i := range n {
		p.States[i], p.Feels[i] = all, true
	}
	return p
}

// Content is the water in a store by the form it takes, kg each.
type Content struct {
	Liquid    units.Mass // free liquid water
	Ice       units.Mass // free ice
	Dissolved units.Mass // dissolved in oil
	Adsorbed  units.Mass // on walls or in desiccant
}

// Total is the sum over all forms.
func (c Content) Total() units.Mass { return c.Liquid + c.Ice + c.Dissolved + c.Adsorbed }

// Add returns the sum of two contents, form by form.
func (c Content) Add(d Content) Content {
	return Content{
		Liquid: c.Liquid + d.Liquid, Ice: c.Ice + d.Ice,
		Dissolved: c.Dissolved + d.Dissolved, Adsorbed: c.Adsorbed + d.Adsorbed,
	}
}

// Reporter is a Store that can say what governs it.
type Reporter interface {
	Store
	// Report describes the store in the given state and surroundings.
	Report(state []float64, at Surroundings) Report
}

// Report is a store's condition at one instant.
type Report struct {
	// Temperature of the water, K.
	Temperature units.Temperature
	// Release is the water given to the gas, kg/s; negative when taken up.
	Release units.MassFlow
	// Governing names the step that holds the release back most.
	Governing Resistance
	// Share is the part of the driving force that the governing step takes, 0
	// to 1.
	Share float64
}

// Resistance names one of the steps in series between water and gas.
type Resistance int

// The steps that can govern a release.
const (
	NoResistance   Resistance = iota // nothing is released or taken up
	HeatSupply                       // heat reaching the water
	GasFilm                          // vapour diffusing through gas
	Kinetic                          // molecules leaving the surface
	OilExchange                      // exchange between oil and gas
	WallDesorption                   // water leaving a wall or desiccant
)

// String returns the step in words.
func (r Resistance) String() string {
	switch r {
	case NoResistance:
		return "nothing"
	case HeatSupply:
		return "heat supply"
	case GasFilm:
		return "gas film"
	case Kinetic:
		return "surface kinetics"
	case OilExchange:
		return "exchange with oil"
	case WallDesorption:
		return "desorption"
	}
	return "unknown"
}
