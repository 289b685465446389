package follow

import (
	"math"
	"time"

	"example.com/drydown/units"
)

// unlike reports whether, beyond doubt, no law with at most one time constant
// describes the record: any sources that fade do better, at the times found before
// the noise was learnt. The verdict is open then, whatever a law of two time
// constants says, and the interval is the one beside any sources.
func (w *work) unlike() bool {
	p := &w.point[anySource]
	best := w.best()
	return p.has && w.criterion(p.sol.chi2, p.parameters())+unlikeScore < w.score[best.model]
}

// unlikeScore is the difference of the criterion from which on that is beyond
// doubt: twice plausibleScore.
const unlikeScore = 2 * plausibleScore

// decide turns the mixture into a verdict.
func (f *Follower) decide(s *Status) {
	w := &f.w
	best := w.best()
	toFlow := float64(f.cfg.Volume) / f.last
	limit := float64(f.cfg.LeakLimit) / toFlow
	lo, mid, hi := 0.0, 0.0, 0.0
	if w.unlike() {
		lo, mid, hi = w.anyLeak()
		s.Reason = NoLaw
	} else {
		w.weigh()
		lo, mid, hi = f.judge(s, best, limit)
	}
	if r := f.special(); r != Decided {
		s.Verdict, s.Reason = Undetermined, r
	} else if w.coarse {
		s.Verdict, s.Reason = Undetermined, TooFast
	} else if n := w.rows.effective(); f.n < fewestRead || n < fewest {
		s.Verdict, s.Reason = Undetermined, FewIndependent
	}
	if s.Verdict == Undetermined {
		switch s.Reason {
		case TooWide, LawsDisagree, FewIndependent: // more of the same readings narrows nothing else
			s.Decide = f.foresee(lo, hi, limit, best)
		}
		if c := w.ceiling(); !math.IsInf(c, 1) {
			hi = max(hi, c) // any source that fades was not asked
		}
	}
	s.Low, s.Best, s.High = flow(lo*toFlow), flow(mid*toFlow), flow(hi*toFlow)
}

// judge asks the mixture and, where that decides, any sources that fade. It
// answers the leak and its interval, Pa over the record.
func (f *Follower) judge(s *Status, best *point, limit float64) (lo, mid, hi float64) {
	w := &f.w
	m := &w.mix
	mid = m.quantile(0.5, best.sol.leak)
	lo, hi = m.quantile(lowerTail, mid), m.quantile(upperTail, mid)
	sources, falls := w.change(best, &best.sol)
	j := jury{
		step: float64(f.cfg.Resolution), sources: [2]float64{sources, sources}, falls: [2]float64{falls, falls},
		limit: limit, under: [2]bool{true, true},
	}
	w.rivals(&j)
	j.hear(m, lo, mid, hi, w.rows.phi)
	s.Verdict, s.Reason = j.verdict()
	settles := m.model[settling] >= 1-shown
	ended := w.spectrum.ramps // while the noise was learnt
	if s.Verdict != Undetermined && !settles {
		w.fitSpectrum(1)
		hi = max(hi, w.allow(&j, hi))
		j.reaches[0] = j.reaches[0] || ended
	}
	ceiling := w.ceiling()
	slack := ceilingSlack * (hi - mid)
	j.under = [2]bool{ceiling+slack >= limit || mid+slack >= limit, ceiling-slack >= limit}
	if s.Verdict != Undetermined {
		s.Verdict, s.Reason = j.verdict()
	}
	if !settles {
		hi = min(hi, max(ceiling, mid))
	}
	if m.fading() >= shown && sources > 2*j.step {
		s.Rise = units.Pressure(sources)
		if best.model == vapour {
			s.TimeConstant = time.Duration(min(math.Exp(best.theta[0])*1e9, math.MaxInt64/2))
		}
	}
	return lo, mid, hi
}

// flow is a leak as stated: none below zero.
func flow(x float64) units.Throughput { return units.Throughput(max(x, 0)) }

// change is what the sources of a law add over the record, and by how much its
// pressure falls, Pa.
func (w *work) change(p *point, s *solution) (sources, falls float64) {
	for i := range s.k {
		if p.model == anySource && p.ends[i] {
			sources += s.b[i]
			continue
		}
		sources -= s.b[i] * math.Expm1(-w.rows.dur/math.Exp(p.theta[i]))
	}
	return sources, -sources - s.leak
}

// rivals widens what sources add and how much the pressure falls by the laws
// that are nearly as good as the best, and by a margin.
func (w *work) rivals(j *jury) {
	least := w.score[w.described().model]
	margin := marginSteps * j.step
	for m := range w.point {
		if p := &w.point[m]; p.has && w.score[m] < least+plausibleScore {
			sources, falls := w.change(p, &p.sol)
			j.sources = [2]float64{min(j.sources[0], sources), max(j.sources[1], sources)}
			j.falls = [2]float64{min(j.falls[0], falls), max(j.falls[1], falls)}
		}
	}
	if w.score[steady] < least+plausibleScore {
		j.sources[0] = min(j.sources[0], 0)
	}
	j.sources[0], j.sources[1] = j.sources[0]-margin, j.sources[1]+margin
	j.falls[0], j.falls[1] = j.falls[0]-margin, j.falls[1]+margin
}

// foresee is when the interval will be narrower than the limit, always later
// than now; zero beyond 30 days.
func (f *Follower) foresee(lo, hi, limit float64, best *point) time.Duration {
	d := f.last * max(math.Pow(2*(hi-lo)/limit, 2.0/3), 1.1) // twice, for the margins of a verdict
	if best.model == vapour {
		d = max(d, min(2*math.Exp(best.theta[0]), 10*f.last))
	}
	if !(d < 30*86400) {
		return 0
	}
	return time.Duration(math.Ceil(d) * 1e9)
}
