package purge

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"example.com/drydown/units"
)

// Distribution is a distribution by its quantile function: the value that is
// not exceeded with probability p, 0 < p < 1. The distributions of gonum's
// distuv that have a Quantile are such, and so is Spread.
type Distribution interface {
	Quantile(p float64) float64
}

// Spread says how poorly a number is known, as the distribution of a factor
// that the stated number is multiplied by.
type Spread struct {
	// Kind is the shape.
	Kind SpreadKind `json:"kind"`
	// Low and High bound the factor, 1e-3 to 1e3, Low below High. For Lognormal
	// they are the ends of the central 95 %.
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// SpreadKind is the shape of a Spread.
type SpreadKind string

// Shapes of a Spread. The zero value is none of them and is refused.
const (
	// Uniform makes every factor between Low and High equally likely.
	Uniform SpreadKind = "uniform"
	// LogUniform makes the logarithm of the factor uniform: halved is as likely
	// as doubled.
	LogUniform SpreadKind = "log-uniform"
	// Triangular peaks halfway between Low and High.
	Triangular SpreadKind = "triangular"
	// Lognormal has a normal logarithm; 95 % of the factors lie between Low and
	// High, 2.5 % below and above.
	Lognormal SpreadKind = "lognormal"
)

// Check refuses an unknown shape and bounds that make none: factors must be
// 1e-3 to 1e3 and Low below High.
func (s Spread) Check() error {
	switch s.Kind {
	case Uniform, LogUniform, Triangular, Lognormal:
	default:
		return fmt.Errorf("spread: kind %q is not known, accepted are %s, %s, %s, %s", s.Kind, Uniform, LogUniform, Triangular, Lognormal)
	}
	if err := units.CheckRange("spread", "low", s.Low, 1e-3, 1e3, "× the stated value"); err != nil {
		return err
	}
	if err := units.CheckRange("spread", "high", s.High, 1e-3, 1e3, "× the stated value"); err != nil {
		return err
	}
	if s.Low >= s.High {
		return fmt.Errorf("spread: low %g is not below high %g: %w", s.Low, s.High, units.ErrOutOfRange)
	}
	return nil
}

// z975 is the 97.5 % point of the standard normal distribution, recomputed by
// distuv and by the error function of the test.
const z975 = 1.959963984540054

// Quantile is the factor that is not exceeded with probability p, 0 < p < 1. It
// does not check; a Spread that fails Check gives NaN or nonsense.
func (s Spread) Quantile(p float64) float64 {
	switch s.Kind {
	case Uniform:
		return s.Low + p*(s.High-s.Low)
	case LogUniform:
		return s.Low * math.Pow(s.High/s.Low, p)
	case Triangular:
		return distuv.NewTriangle(s.Low, s.High, (s.Low+s.High)/2, nil).Quantile(p)
	case Lognormal:
		middle, half := math.Log(s.Low*s.High)/2, math.Log(s.High/s.Low)/2
		return math.Exp(middle + half/z975*distuv.UnitNormal.Quantile(p))
	}
	return math.NaN()
}

// String says the spread in words.
func (s Spread) String() string {
	if s.Kind == Lognormal {
		return fmt.Sprintf("× %g to × %g (95 %% of a lognormal)", s.Low, s.High)
	}
	return fmt.Sprintf("× %g to × %g, %s", s.Low, s.High, s.Kind)
}
