package follow

import "math"

// Blocks is how many blocks the readings are condensed to at most. A record of
// no more readings is kept as it is.
const Blocks = 36

// A block may be as long as a share of its time since the start, from
// earlyPart of the record on, up to latePart of it: sources that fade change
// fast at first, a leak does not.
const (
	earlyPart = 0.01
	latePart  = 0.25
)

// pressurePart is the difference of pressures within a block, as a multiple of its
// share and of their sum.
const pressurePart = 1

// Every condensing frees at least freed blocks, with a share that starts at
// firstShare and grows by shareGrowth until that is so. It settles where a
// record of any length fills the blocks.
const (
	freed       = 4
	firstShare  = 0.02
	shareGrowth = 1.1
)

// block condenses neighbouring readings to means and to sums of squares and
// products about them.
type block struct {
	n             float64 // readings
	t, p          float64 // mean time since the first reading, s; mean pressure, Pa
	tt, tp, pp    float64 // Σ (t-t̄)², Σ (t-t̄)(p-p̄), Σ (p-p̄)²
	ss, sd, dd    float64 // Σ s², Σ s d, Σ d² of its steps s in time and d in pressure
	first, last   float64 // times of its first and its last reading, s
	pFirst, pLast float64 // these readings, Pa
}

// put adds a reading to the last block or opens one for it.
func (f *Follower) put(t, p float64) {
	if f.m > 0 {
		if b := &f.blocks[f.m-1]; t-b.first <= f.share*latePart*t && f.alike(b.pFirst, p) {
			b.add(t, p)
			return
		}
	}
	if f.m == Blocks {
		f.condense(t)
	}
	f.blocks[f.m] = block{n: 1, t: t, p: p, first: t, last: t, pFirst: p, pLast: p}
	f.m++
}

// alike reports whether two pressures are near enough for one block, so that
// readings of one block have about the same noise.
func (f *Follower) alike(p, q float64) bool {
	return math.Abs(p-q) <= pressurePart*f.share*(p+q)
}

// step adds the step from the last reading to the next.
func (b *block) step(t, p float64) {
	s, d := t-b.last, p-b.pLast
	b.ss, b.sd, b.dd = b.ss+s*s, b.sd+s*d, b.dd+d*d
}

// add moves the means and sums of a block by one reading (Welford 1962, from
// memory).
func (b *block) add(t, p float64) {
	b.step(t, p)
	b.n++
	dt, dp := t-b.t, p-b.p
	b.t += dt / b.n
	b.p += dp / b.n
	b.tt += dt * (t - b.t)
	b.tp += dt * (p - b.p)
	b.pp += dp * (p - b.p)
	b.last, b.pLast = t, p
}

// join adds the block that follows.
func (b *block) join(c *block) {
	b.step(c.first, c.pFirst)
	n := b.n + c.n
	dt, dp, w := c.t-b.t, c.p-b.p, b.n*c.n/n
	b.tt += c.tt + w*dt*dt
	b.tp += c.tp + w*dt*dp
	b.pp += c.pp + w*dp*dp
	b.ss, b.sd, b.dd = b.ss+c.ss, b.sd+c.sd, b.dd+c.dd
	b.t += c.n / n * dt
	b.p += c.n / n * dp
	b.n, b.last, b.pLast = n, c.last, c.pLast
}

// condense joins neighbours until enough blocks are free, at time t.
func (f *Follower) condense(t float64) {
	if f.share == 0 {
		f.share = firstShare
	}
	for before := f.m; f.m > before-freed; f.share *= shareGrowth {
		kept := 0
		for i := 1; i < f.m; i++ {
			b, c := &f.blocks[kept], &f.blocks[i]
			scale := min((b.first+c.last)/2+earlyPart*t, latePart*t)
			if c.last-b.first <= f.share*scale && f.alike(b.pFirst, c.pLast) {
				b.join(c)
				continue
			}
			kept++
			f.blocks[kept] = *c
		}
		f.m = kept + 1
	}
	f.share /= shareGrowth
}
