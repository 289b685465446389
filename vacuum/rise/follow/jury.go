package follow

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
	limit          float64    // Pa over the record
	below          [models][points]float64
	weight         [models]float64
	doubt          float64 // factor by which the weight of a law is uncertain
	atZero         bool    // the best value is zero
	lawless        bool    // none of the laws describes the record
	shown          bool    // one source is, so that it may have a tail
	sharper        bool    // a law of two time constants may count at its optimum
	rest           float64 // weight of all that is too little to count

	// What any source that fades allows, on one side of a margin and on the other.
	reaches, under [2]bool // the limit; whether the ceiling lets it
}

// The margins of zero and of the limit, in shares of the distance from the best
// value to the bound, of which the second is for correlated noise; that of the best
// value, as a share of half the interval, of which 0.3 may be missed; that of what
// sources add and of a fall, in steps of the gauge; that of the probability that the
// pressure does not fall, a factor; and doubt, the factor by which the weight of a
// law is uncertain. They cover the differences from package rise on the invented
// records on which they were set, but for a few; see the package's documentation.
const (
	marginWhite      = 0.1
	marginCorrelated = 0.3
	marginBest       = 0.2
	marginSteps      = 0.3
	marginFall       = 2
	doubt            = 1.6
)

// fewest is how many independent readings a verdict needs, and fewestRead how many
// of any kind: the noise must be learnt from them. simple is the weight that the laws
// with at most one time constant must have together, and faint the one up to which a
// law may be wrong without harm, below that of lowerTail.
const (
	fewest     = 15
	fewestRead = 30
	simple     = 0.15
	faint      = 0.02
)

// hear asks the mixture.
func (j *jury) hear(m *mixture, lo, mid, hi, phi float64) {
	margin := marginWhite + marginCorrelated*phi
	j.doubt = doubt * (1 + phi/2)
	j.sharper, j.shown = m.sharper, m.shown
	half := (max(hi, 0) - max(lo, 0)) / 2
	x := [points]float64{
		zeroLow: -margin * (mid - lo), zeroHigh: margin * (mid - lo),
		limitLow: j.limit - margin*(hi-mid), limitHigh: j.limit + margin*(hi-mid),
		midLow: max(mid, 0) - marginBest*half, midHigh: max(mid, 0) + marginBest*half,
	}
	j.atZero = x[midLow] <= 0
	j.weight, j.rest = [models]float64{}, 1
	j.below = [models][points]float64{}
	for i := range m.m {
		p := &m.parts[i]
		j.weight[p.model] += p.weight
		j.rest -= p.weight
		for k := range x {
			b, _ := m.normal.at((x[k] - p.mean) * p.inv)
			j.below[p.model][k] += p.weight * b
		}
	}
}

// verdict is what all weightings agree on.
func (j *jury) verdict() (Verdict, Reason) {
	if j.open() {
		return Undetermined, LawsDisagree
	}
	first := Undetermined
	for variant := range 1 << 4 {
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

// open reports whether package rise may weigh the laws otherwise: none describes the
// record, only laws of two time constants do, or one of these may count at its optimum.
func (j *jury) open() bool {
	return j.sharper || j.lawless || j.weight[steady]+j.weight[vapour]+j.weight[settling] < simple
}

// poll gives the distribution of the leak and the shares of the laws in one
// weighting: bit k of variant moves the weight of law k+1 up or down. Two sources are a
// tail beside one, which is found by chance: not at all, or with at least tailShare of the
// weight of one and a leak below any other, since a slow source takes from it.
func (j *jury) poll(variant int, p *[points]float64, share *[models]float64) {
	total := j.rest
	for law := range models {
		up := law > steady && variant>>(law-1)&1 == 1
		f := 1 / j.doubt
		switch {
		case law == steady:
			f = 1
		case up:
			f = j.doubt
		case law == twoVapours:
			f = 0
		}
		share[law] = j.weight[law] * f
		total += share[law]
		missed := 0.0
		if law == twoVapours && up && j.shown {
			missed = max(0, tailShare*j.weight[vapour]-share[law])
			share[law] += missed
			total += missed
		}
		for k := range p {
			p[k] += j.below[law][k]*f + missed
		}
	}
	for law := range share {
		share[law] /= total
	}
	for k := range p {
		p[k] /= total
	}
}

// tailShare was set on the same records as the margins of a jury.
const tailShare = 0.3

// vote is the verdict of one weighting, on one side of the margins of zero and
// of the limit, with the least or the most of what the laws add.
func (j *jury) vote(p *[points]float64, share *[models]float64, zero, limit, most int) Verdict {
	excludes := p[zeroLow+zero] < lowerTail
	reaches := p[limitLow+limit] < upperTail
	if share[settling] < 1-shown {
		reaches = (reaches || j.reaches[limit]) && j.under[limit]
	}
	fading := share[vapour] + share[twoVapours] + share[powerLaw]
	fades := fading >= shown && j.sources[most] > 2*j.step
	rising := 1 - fallShown // at most
	if zero == 0 {
		rising /= marginFall
	} else {
		rising *= marginFall
	}
	fall := (1-p[zeroLow+zero] < rising || share[settling] > shown) && j.falls[most] > 2*j.step
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
