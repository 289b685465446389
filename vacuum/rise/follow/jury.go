package follow

import "math"

// The points at which the distribution of the leak is asked: zero and the limit,
// each with a margin on both sides, and about the best value.
const (
	zeroLow = iota
	zeroHigh
	limitLow
	limitHigh
	midLow
	midHigh
	points
)

// jury judges the distribution of the leak as it is and with the weights of the
// laws changed: they depend on the noise, on which of two optima a search finds
// and on how a grid lies, so that a verdict counts only when it does not.
type jury struct {
	step           float64    // Pa
	sources, falls [2]float64 // what sources add and how much the pressure falls, least and most, Pa
	ceiling, limit float64    // Pa over the record
	below          [models][points]float64
	weight, doubt  [models]float64
	falling        bool // the pressure may settle, so that there is no ceiling
	nearZero       bool // a leak's lower bound is not clear of zero beside slow sources
	atZero         bool // the best value is zero
	complex        bool // only laws with two time constants fit, or whether these count is chance
	chance         bool // whether there is room for a second source is chance

	tail      float64         // weight of a slow source that the fits may have missed
	tailBelow [points]float64 // its distribution
}

// The margins of zero and of the limit, in shares of the distance from the best
// value to the bound, of which the second is for correlated noise, and that of
// the best value, as a share of half the interval.
const (
	marginWhite      = 0.1
	marginCorrelated = 0.3
	marginBest       = 0.15
	marginSteps      = 0.3 // of what sources add and of a fall, in steps of the gauge
)

// A slow source that may have been missed gets tailShare of the weight of one
// source, with a leak below the best value by tailWidth of the error beside the
// slowest source in the mean.
const (
	tailShare = 0.6
	tailWidth = 15
)

// fewest is how many independent readings a verdict needs, fewestSlow where the
// pressure settles or the noise's correlation is above slowNoise, and fewestRead
// how many readings of any kind; simple the weight that the laws with at most one
// time constant must have together; faint the one that a power law at its optimum
// may have; clearOfZero the least ratio of a leak's lower bound above zero to its
// best value where a steady rise is possible; likely the weight that a steady rise
// must have then in correlated noise.
const (
	fewest      = 15
	fewestRead  = 60
	fewestSlow  = 60
	slowNoise   = 0.8
	simple      = 0.15
	faint       = 0.02
	clearOfZero = 0.65
	likely      = 0.45
)

// hear asks the mixture.
func (j *jury) hear(m *mixture, lo, mid, hi, phi float64) {
	margin := marginWhite + marginCorrelated*phi
	for law := range j.doubt {
		j.doubt[law] = m.doubt[law] * (1 + phi)
	}
	half := (max(hi, 0) - max(lo, 0)) / 2
	x := [points]float64{
		zeroLow: -margin * (mid - lo), zeroHigh: margin * (mid - lo),
		limitLow: j.limit - margin*(hi-mid), limitHigh: j.limit + margin*(hi-mid),
		midLow: max(mid, 0) - marginBest*half, midHigh: max(mid, 0) + marginBest*half,
	}
	j.atZero = x[midLow] <= 0
	j.weight = [models]float64{}
	j.below = [models][points]float64{}
	for i := range m.m {
		p := &m.parts[i]
		j.weight[p.model] += p.weight
		for k := range x {
			b, _ := m.normal.at((x[k] - p.mean) * p.inv)
			j.below[p.model][k] += p.weight * b
		}
	}
	j.tail = 0
	if m.missed {
		j.tail = tailShare * m.model[vapour]
		for k := range x {
			j.tailBelow[k] = math.Exp(min((x[k]-mid)/(tailWidth*m.slow), 0))
		}
	}
	j.chance = m.chance
	possible := m.model[steady] > faint
	j.nearZero = possible && lo > 0 && (lo < clearOfZero*mid || phi > smallCorrelation && m.model[steady] < likely)
	j.complex = m.edge || m.slowly && j.weight[steady] < simple || m.refined && j.weight[powerLaw] > faint ||
		j.weight[steady]+j.weight[vapour]+j.weight[settling] < simple
}

// verdict is what all weightings agree on.
func (j *jury) verdict() (Verdict, Reason) {
	if j.complex || j.nearZero {
		return Undetermined, LawsDisagree
	}
	variants := 1 << 4
	if j.tail > 0 {
		variants <<= 1
	}
	first := Undetermined
	for variant := range variants {
		var p [points]float64
		var share [models]float64
		j.poll(variant, &p, &share)
		if p[midHigh] < 0.5 || p[midLow] > 0.5 && !j.atZero {
			return Undetermined, LawsDisagree
		}
		for side := range 8 {
			v := j.vote(&p, &share, side&1, side>>1&1, side>>2)
			if variant == 0 && side == 0 {
				first = v
			}
			if v != first {
				return Undetermined, LawsDisagree
			}
		}
	}
	if first == Undetermined {
		return first, TooWide
	}
	return first, Decided
}

// poll gives the distribution of the leak and the shares of the laws in one
// weighting: bit k of variant moves the weight of law k+1 up or down, the last
// adds a tail.
func (j *jury) poll(variant int, p *[points]float64, share *[models]float64) {
	total := 0.0
	for law := range share {
		f := 1.0
		switch {
		case law == 0:
		case variant>>(law-1)&1 == 1:
			f = j.doubt[law]
		case law == int(twoVapours) && j.chance:
			f = 0
		default:
			f = 1 / j.doubt[law]
		}
		share[law] = j.weight[law] * f
		total += share[law]
		for k := range p {
			p[k] += j.below[law][k] * f
		}
	}
	if variant>>4 == 1 {
		share[twoVapours] += j.tail
		total += j.tail
		for k := range p {
			p[k] += j.tail * j.tailBelow[k]
		}
	}
	for law := range share {
		share[law] /= total
	}
	for k := range p {
		p[k] /= total
	}
}

// vote is the verdict of one weighting, on one side of the margins of zero and
// of the limit, with the least or the most of what the laws add.
func (j *jury) vote(p *[points]float64, share *[models]float64, zero, limit, most int) Verdict {
	excludes := p[zeroLow+zero] < lowerTail
	reaches := p[limitLow+limit] < upperTail
	if !j.falling {
		// The batch allows for any source that fades, at most up to the ceiling:
		// what stays below the limit must do so there too.
		reaches = j.ceiling >= j.limit && (limit == 0 || p[limitHigh] < upperTail)
	}
	fading := share[vapour] + share[twoVapours] + share[powerLaw]
	fades := fading >= shown && j.sources[most] > 2*j.step
	fall := (p[zeroLow+zero] > fallShown || share[settling] > shown) && j.falls[most] > 2*j.step
	switch {
	case excludes && reaches && fades:
		return LeakAndMoisture
	case excludes && reaches:
		return Leak
	case reaches:
		return Undetermined
	case fall:
		return Equalising
	case fades && share[powerLaw] > powerShown:
		return Outgassing
	case fades:
		return Moisture
	}
	return Tight
}
