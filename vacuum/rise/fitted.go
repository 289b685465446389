package rise

import (
	"math"
	"sort"
	"time"

	"example.com/drydown/units"
)

// Fit is one fitted law: Start + Slope·t + Σ sources, t counted from From.
type Fit struct {
	Model Model
	// Weight is the probability of the law among Finding.Fits, 0 to 1; theirs add
	// up to 1. In Finding.Fit it is zero when the model is not among them.
	Weight float64
	// From and To are the times of the first and the last row that were fitted,
	// since the first usable reading of the log. From is above zero when a first
	// reading was set aside, rows at the start had no temperature or no reading of
	// the second gauge, or a long record was averaged in blocks.
	From, To time.Duration
	Start    units.Pressure     // Pa at t = 0
	Slope    units.PressureRate // Pa/s by leak at the start; below zero where nothing else fits
	// Amplitude of each source, Pa, negative for Settling: the final rise of a
	// vapour or of Predicted; for the power law the rise is
	// Amplitude ((1+t/t0)^(1-n)-1)/(1-n), at n = 1 Amplitude ln(1+t/t0).
	Amplitude [2]units.Pressure
	// Time is the time constant of each vapour, or t0 of the power law; zero for
	// Predicted.
	Time [2]time.Duration
	// Exponent n of the power law, 0 otherwise.
	Exponent float64
	// Pace is by how much the settling ran slower than Options.Equalisation
	// says; 0 for other models.
	Pace float64

	dur       float64 // s
	cov       [maxTerms][maxTerms]float64
	terms     int
	rows      *fittedRows // nil for a law that was not fitted to a record
	predicted *Equalisation
}

// fittedRows are times t (s) with the leak's rise by then as a share of what a
// constant leak brings over the record, and the noise of the readings (Pa).
type fittedRows struct{ t, leak, noise []float64 }

// after is the first row at or after x, neither the first nor beyond the last.
func (r *fittedRows) after(x float64) int {
	return min(max(sort.SearchFloat64s(r.t, x), 1), len(r.t)-1)
}

// gone is the leak's share at x, s since From: linear between rows, and with the
// last slope after them.
func (f *Fit) gone(x float64) float64 {
	r := f.rows
	if r == nil {
		return x / math.Max(f.dur, 1e-300)
	}
	i := r.after(x)
	return r.leak[i-1] + (r.leak[i]-r.leak[i-1])*(x-r.t[i-1])/(r.t[i]-r.t[i-1])
}

// noise is the standard deviation of a reading at x, Pa.
func (f *Fit) noise(x float64) float64 {
	if f.rows == nil {
		return 0
	}
	return f.rows.noise[f.rows.after(x)]
}

// Pressure is the fitted pressure at time t since From, Pa. Over the record the
// leak follows Options.Law; after it, it goes on as at the end.
func (f Fit) Pressure(t time.Duration) units.Pressure {
	x := t.Seconds()
	return units.Pressure(float64(f.Start) + float64(f.Slope)*f.dur*f.gone(x) + f.sources(x))
}

// sources is what the sources added up to x seconds after From, Pa.
func (f *Fit) sources(x float64) float64 {
	sum := 0.0
	for k, a := range f.Amplitude {
		if a != 0 {
			sum += float64(a) * f.column(k, x)
		}
	}
	return sum
}

// column is the k-th source at x seconds after From, of amplitude 1.
func (f *Fit) column(k int, x float64) float64 {
	at, col := [1]float64{x}, [1]float64{}
	switch f.Model {
	case PowerLaw:
		powerColumn(col[:], at[:], f.Time[0].Seconds(), f.Exponent)
	case Predicted:
		return f.predicted.column(x+f.From.Seconds(), f.From.Seconds(), f.Pace)
	default:
		vapourColumn(col[:], at[:], f.Time[k].Seconds())
	}
	return col[0]
}

// gradient is the derivative of the pressure at x by start, leak over the
// record, amplitudes and time constants, in the order of cov.
func (f *Fit) gradient(x float64) (g [maxTerms]float64) {
	g[0], g[1] = 1, f.gone(x)
	at, derived := [1]float64{x}, [1]float64{}
	for k := range f.terms {
		col := [1]float64{f.column(k, x)}
		g[2+k] = col[0]
		switch f.Model {
		case Predicted: // the pace is in logarithms, its derivative a difference
			const h = 1e-3
			at := func(pace float64) float64 { return f.predicted.column(x+f.From.Seconds(), f.From.Seconds(), pace) }
			g[3] = float64(f.Amplitude[0]) * (at(f.Pace*math.Exp(h)) - at(f.Pace*math.Exp(-h))) / (2 * h)
		case PowerLaw:
			for j := range 2 {
				powerDerivative(derived[:], col[:], at[:], f.Time[0].Seconds(), f.Exponent, j, float64(f.Amplitude[0]))
				g[3+j] = derived[0]
			}
		default:
			g[2+f.terms+k] = -float64(f.Amplitude[k]) * x / f.Time[k].Seconds() * (1 - col[0])
		}
	}
	return g
}

// deviation is the standard error of the pressure at x, Pa.
func (f *Fit) deviation(x float64) float64 {
	g := f.gradient(x)
	variance := 0.0
	for i := range g {
		for j := range g {
			variance += g[i] * g[j] * f.cov[i][j]
		}
	}
	return math.Sqrt(math.Max(variance, 0))
}

// Band is half the width of the 95 % band of the fitted pressure at time t since
// From, and that of a single reading, Pa: the error of the law, and the same
// with the noise of the readings then. It takes the law as true.
func (f Fit) Band(t time.Duration) (law, reading units.Pressure) {
	const z = 1.959963984540054
	sd := f.deviation(t.Seconds())
	return units.Pressure(z * sd), units.Pressure(z * math.Hypot(sd, f.noise(t.Seconds())))
}

// newFit turns a fitted point into the caller's terms.
func newFit(p *point, offset, dur float64) Fit {
	f := Fit{
		Model: p.model,
		Start: units.Pressure(p.sol.beta[0] + offset),
		Slope: units.PressureRate(p.sol.beta[1] / dur),
	}
	f.dur, f.terms = dur, p.sol.k-2
	f.cov = p.sol.cov
	if p.full.k > 0 {
		f.cov = p.full.cov
	}
	for k := range p.sol.k - 2 {
		f.Amplitude[k] = units.Pressure(p.term(k))
		f.Time[k] = seconds(math.Exp(p.theta[k]))
	}
	if p.model == PowerLaw {
		f.Exponent = p.theta[1]
	}
	if p.model == Vapour && p.term(0) < 0 {
		f.Model = Settling
	}
	return f
}

// seconds makes a time.Duration of s, at most the longest there is.
func seconds(s float64) time.Duration {
	if !(s*1e9 < math.MaxInt64) {
		return math.MaxInt64
	}
	return time.Duration(math.Round(s * 1e9))
}
