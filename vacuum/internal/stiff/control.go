package stiff

import "math"

// Constants of the step-size controller. Safety, the limits of growth and
// shrinkage and the floor of the remembered error are those of the published
// program RODAS (Hairer and Wanner, Solving ODEs II, appendix; defaults of its
// SAFE, FAC1, FAC2 and of the predictive controller of section IV.8).
const (
	safety           = 0.9    // aim below the step that would just pass
	mostGrowth       = 6.0    // of one step over the last
	mostShrink       = 0.2    // after an error too large
	failureShrink    = 0.1    // after a rate or state that is not finite, or a lost pivot
	rememberedFloor  = 0.01   // smallest error norm carried to the next step
	patience         = 10     // failures of one step after which its error is not taken to follow the order
	mostAttempts     = 100    // per step, before the integration is given up
	smallestStep     = 1e-14  // relative to t
	smallestAbsolute = 1e-100 // smallest step at t = 0, in units of t
	unlimited        = 1e300  // end of time where no limit is set
	landingMargin    = 1.0001 // a step that ends this close to the limit is stretched onto it
)

// reason says why a trial step failed.
type reason int

const (
	reasonNone reason = iota
	reasonError
	reasonPivot
	reasonNotFinite
)

// outcome is the result of one trial step.
type outcome struct {
	norm     float64 // error over tolerance, of the worst variable
	variable int     // the worst, or the one that failed
	reason   reason
}

// errorNorm is the largest of |error| over tolerance, where the tolerance of a
// variable is its absolute one plus the relative one times the larger of the
// sizes at both ends. The largest is taken rather than the root mean square,
// so that one active corner of a large network is resolved as finely as in a
// small one. Variables without absolute tolerance do not count.
func (s *Solver) errorNorm(yOld, yNew, estimate []float64) outcome {
	result := outcome{variable: int(s.watched[0])}
	for _, i := range s.watched {
		size := math.Max(math.Abs(yOld[i]), math.Abs(yNew[i]))
		ratio := math.Abs(estimate[i]) / (s.absTol[i] + s.relTol*size)
		if !(ratio <= result.norm) {
			result.norm, result.variable = ratio, int(i)
			if !(ratio <= math.MaxFloat64) {
				result.reason = reasonNotFinite
				return result
			}
		}
	}
	if result.norm > 1 {
		result.reason = reasonError
	}
	return result
}

// controller chooses step sizes: after an accepted step the smaller of the
// elementary and the predictive choice (K. Gustafsson, ACM Trans. Math. Softw.
// 20 (1994) 496; Hairer and Wanner, section IV.8), after a rejected one the
// elementary choice, and no growth directly after a rejection.
type controller struct {
	step, norm float64 // of the last accepted step; step 0 when there is none
	rejected   bool    // the last trial was rejected
}

// accept gives the next step size after a step h with error norm at most one.
func (c *controller) accept(h, norm float64) float64 {
	growth := safety / fifthRoot(norm)
	if c.step > 0 {
		growth = math.Min(growth, growth*(h/c.step)*fifthRoot(c.norm/norm))
	}
	growth = math.Max(mostShrink, math.Min(mostGrowth, growth))
	if c.rejected {
		growth = math.Min(growth, 1)
	}
	c.step, c.norm, c.rejected = h, math.Max(rememberedFloor, norm), false
	return h * growth
}

// resume gives the next step size after an accepted step h that was cut short
// of the one proposed: the proposal, unless the error of the short step speaks
// against it. An error so small that it would allow the largest growth is not
// drawn out further, it may be round-off. A short step says little about the
// course of the error and leaves the memory as it was.
func (c *controller) resume(h, norm, proposed float64) float64 {
	c.rejected = false
	growth := safety / fifthRoot(norm)
	if growth >= mostGrowth {
		return proposed
	}
	return math.Min(proposed, h*growth)
}

// reject gives the step size for another attempt after a failed one of size h, which
// followed count others at the same place. Beside a corner that a fast variable sits
// at, the error is that of the tangent and does not fall until the step is shorter than
// the variable's own time: the elementary choice would creep there.
func (c *controller) reject(h float64, failed outcome, count int) float64 {
	c.rejected = true
	if failed.reason != reasonError || count >= patience {
		return h * failureShrink
	}
	return h * math.Max(mostShrink, safety/fifthRoot(failed.norm))
}

// fifthRoot is x to the power 1/(order of the embedded method + 1), for x >= 0.
func fifthRoot(x float64) float64 { return math.Exp(math.Log(x) / 5) }
