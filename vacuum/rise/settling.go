package rise

import (
	"fmt"
	"math"
	"time"

	"example.com/drydown/units"
)

// paces is how many paces between the bounds of an Equalisation are tried,
// evenly spaced by their logarithm.
const paces = 13

// foreseen is the fit of what Options.Equalisation foresees beside a leak: one
// solution for each pace.
type foreseen struct {
	pace []float64
	sol  []solution
	best int // of them, by χ² with the amplitude inside its bounds; -1 without any
}

// fitForeseen fits the foreseen settling under the noise model of the other fits.
func (j *judge) fitForeseen() {
	e := j.o.Equalisation
	if e == nil {
		return
	}
	s := j.fits.sys
	j.foreseen = &foreseen{best: -1}
	raw, least := make([]float64, len(s.t)), math.Inf(1)
	for i := range paces {
		pace := math.Pow(e.Pace, 2*float64(i)/(paces-1)-1)
		for k, t := range s.t {
			raw[k] = e.column(j.r.zero+t, j.r.zero, pace)
		}
		c := s.newCol(raw)
		sol, ok := s.solve(&c)
		if !ok {
			continue
		}
		f := j.foreseen
		f.pace, f.sol = append(f.pace, pace), append(f.sol, sol)
		if chi2 := bounded(&sol, e).chi2; chi2 < least {
			least, f.best = chi2, len(f.sol)-1
		}
	}
}

// bounded is a solution with the amplitude held at its bound where it lies
// outside.
func bounded(sol *solution, e *Equalisation) solution {
	out := *sol
	d := min(max(sol.beta[2], float64(e.Least)), float64(e.Most)) - sol.beta[2]
	if d == 0 {
		return out
	}
	v := sol.cov[2][2]
	out.chi2 += d * d / v
	for i := range sol.k {
		out.beta[i] += d * sol.cov[i][2] / v
		for k := range sol.k {
			out.cov[i][k] -= sol.cov[i][2] * sol.cov[k][2] / v
		}
	}
	return out
}

// weighForeseen adds the foreseen settling to the average, uniform in the
// logarithm of the pace.
func (j *judge) weighForeseen(w *weigher) {
	f := j.foreseen
	if f == nil {
		return
	}
	for i := range f.sol {
		sol := &f.sol[i]
		w.addTruncated(Predicted, w.occam+w.likelihood(sol.chi2)-math.Log(paces), sol, 2,
			float64(j.o.Equalisation.Least), float64(j.o.Equalisation.Most))
	}
}

// agreement is the probability from which the record counts as in agreement with
// what the circuit foresees.
const agreement = 0.05

// agrees reports whether the foreseen settling explains the record: the law
// stays plausible with the amplitude inside its bounds, and the change is shown.
func (j *judge) agrees() bool {
	f := j.foreseen
	if f == nil || f.best < 0 || j.post.model[Predicted] < agreement {
		return false
	}
	sol := &f.sol[f.best]
	return math.Abs(j.foreseenChange()) > 2*float64(j.f.Record.Resolution) && math.Abs(sol.beta[2]) > 3*math.Sqrt(sol.cov[2][2])
}

// foreseenChange is what the settling changed over the record, Pa.
func (j *judge) foreseenChange() float64 {
	f, zero := j.foreseen, j.r.zero
	return bounded(&f.sol[f.best], j.o.Equalisation).beta[2] * j.o.Equalisation.column(zero+j.fits.sys.dur, zero, f.pace[f.best])
}

// predictedFit is the foreseen settling at its best pace.
func (j *judge) predictedFit() (Fit, bool) {
	f := j.foreseen
	if f == nil || f.best < 0 {
		return Fit{}, false
	}
	p := point{model: Predicted, sol: bounded(&f.sol[f.best], j.o.Equalisation)}
	out := j.fitOf(&p)
	out.Time = [2]time.Duration{}
	out.Pace, out.predicted = f.pace[f.best], j.o.Equalisation
	return out, true
}

// sayForeseen is how the settling agrees with what was foreseen.
func (j *judge) sayForeseen() string {
	f, e := j.foreseen, j.o.Equalisation
	pace := "at the pace foreseen"
	switch p := f.pace[f.best]; {
	case p > 1.01:
		pace = fmt.Sprintf("%.2g times slower than foreseen", p)
	case p < 0.99:
		pace = fmt.Sprintf("%.2g times faster than foreseen", 1/p)
	}
	return fmt.Sprintf("%s, within the %.3g to %.3g Pa foreseen, %s",
		sayPressure(units.Pressure(bounded(&f.sol[f.best], e).beta[2])), float64(e.Least), float64(e.Most), pace)
}
