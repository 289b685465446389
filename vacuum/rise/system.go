package rise

import "math"

// system is the weighted least-squares problem of one record: whitened rows
// with variance σ² and lag-1 correlation, and the columns all models share.
type system struct {
	t, y   []float64 // s; Pa less offset
	offset float64   // Pa, what was taken from y; |y + offset| is the pressure
	leak   []float64 // column of the leak: time, or time under its law, as a share of the duration
	dur    float64   // s
	step   float64   // median step, s
	sigma  []float64 // standard deviation of each row, Pa
	phi    float64   // correlation of neighbouring rows at the median step

	// drift is the column of one kelvin of temperature drift over the record,
	// Pa, and driftK the standard deviation of that drift, K; zero means none.
	drift  []float64
	driftK float64
	wd     []float64 // whitened drift column
	shrink float64   // share of wd taken out of every column, see whiten

	uniform  bool // all steps are equal
	work     *workspace
	spare    []wcol  // memory of solveRaw
	rounding float64 // standard deviation of the gauge's rounding, Pa

	rho        []float64 // correlation of row i with row i-1
	norm       []float64 // 1/√(1-ρ²)
	wy         []float64 // whitened y
	w0, w1     []float64 // whitened constant and leak columns
	base       wcol      // products of the constant, see fill; its own is c0
	yy, ly, ll float64   // of y and the leak
}

func newSystem(t, y, leak []float64) *system {
	n := len(t)
	s := &system{t: t, y: y, leak: leak, dur: t[n-1]}
	steps := make([]float64, n-1)
	for i := range steps {
		steps[i] = t[i+1] - t[i]
	}
	s.step = median(steps)
	s.uniform = true
	for _, d := range steps {
		s.uniform = s.uniform && math.Abs(d-s.step) < 1e-9*s.step
	}
	s.work = newWorkspace(n)
	s.sigma, s.rho, s.norm = make([]float64, n), make([]float64, n), make([]float64, n)
	s.wy, s.w0, s.w1 = make([]float64, n), make([]float64, n), make([]float64, n)
	s.wd = make([]float64, n)
	return s
}

// whiten prepares the rows for the present σ and φ. The correlation of rows a
// gap apart decays as φ^(Δt/step), as lag-1 noise does.
func (s *system) whiten() {
	for i := range s.t {
		s.rho[i], s.norm[i] = 0, 1
		if i > 0 && s.phi > 0 {
			gap := (s.t[i] - s.t[i-1]) / s.step
			s.rho[i] = s.phi
			if math.Abs(gap-1) > 1e-6 {
				s.rho[i] = math.Pow(s.phi, gap)
			}
			s.norm[i] = 1 / math.Sqrt(1-s.rho[i]*s.rho[i])
		}
	}
	s.whitenDrift()
	ones := make([]float64, len(s.t))
	for i := range ones {
		ones[i] = 1
	}
	s.apply(s.w0, ones)
	s.apply(s.w1, s.leak)
	s.apply(s.wy, s.y)
	s.base.c0, s.base.c1, s.base.cy, s.yy = dot(s.w0, s.w0), dot(s.w0, s.w1), dot(s.w0, s.wy), dot(s.wy, s.wy)
	s.ly, s.ll = dot(s.w1, s.wy), dot(s.w1, s.w1)
}

// whitenDrift prepares for a term d·drift with prior d ~ N(0, driftK²). Its
// marginal covariance I + driftK² wd wdᵀ has the inverse square root
// I - shrink wd wdᵀ, which apply takes every column through.
func (s *system) whitenDrift() {
	s.shrink = 0
	if s.driftK <= 0 {
		return
	}
	s.correlate(s.wd, s.drift)
	cc := dot(s.wd, s.wd)
	if cc > 0 {
		s.shrink = (1 - 1/math.Sqrt(1+s.driftK*s.driftK*cc)) / cc
	}
}

// apply whitens one column into dst.
func (s *system) apply(dst, col []float64) {
	s.correlate(dst, col)
	if s.shrink > 0 {
		share := s.shrink * dot(dst, s.wd)
		for i, w := range s.wd {
			dst[i] -= share * w
		}
	}
}

// driftOf is the most probable drift behind residuals e (Pa), in K.
func (s *system) driftOf(e []float64) float64 {
	if s.driftK <= 0 {
		return 0
	}
	w := make([]float64, len(e))
	s.correlate(w, e)
	return dot(w, s.wd) / (1/(s.driftK*s.driftK) + dot(s.wd, s.wd))
}

// correlate weights one column and takes out the lag-1 correlation.
func (s *system) correlate(dst, col []float64) {
	last := 0.0
	for i, c := range col {
		u := c / s.sigma[i]
		dst[i] = (u - s.rho[i]*last) * s.norm[i]
		last = u
	}
}

func dot(a, b []float64) float64 {
	b = b[:len(a)]
	var s0, s1, s2, s3 float64
	i := 0
	for ; i+4 <= len(a); i += 4 {
		s0 += a[i] * b[i]
		s1 += a[i+1] * b[i+1]
		s2 += a[i+2] * b[i+2]
		s3 += a[i+3] * b[i+3]
	}
	for ; i < len(a); i++ {
		s0 += a[i] * b[i]
	}
	return (s0 + s1) + (s2 + s3)
}

// dotFour is four products of a in one pass, which reads a once.
func dotFour(a, b0, b1, b2, b3 []float64) (s0, s1, s2, s3 float64) {
	b0, b1, b2, b3 = b0[:len(a)], b1[:len(a)], b2[:len(a)], b3[:len(a)]
	for i, v := range a {
		s0 += v * b0[i]
		s1 += v * b1[i]
		s2 += v * b2[i]
		s3 += v * b3[i]
	}
	return s0, s1, s2, s3
}

// wcol is a whitened column with its inner products.
type wcol struct {
	w          []float64
	c0, c1, cy float64 // with constant, leak, y
	cc         float64 // with itself
}

func (s *system) newCol(raw []float64) wcol {
	c := wcol{w: make([]float64, len(raw))}
	s.fill(&c, raw)
	return c
}

// fill whitens raw into c.w and takes its inner products.
func (s *system) fill(c *wcol, raw []float64) {
	s.apply(c.w, raw)
	c.c0, c.c1, c.cy, c.cc = dotFour(c.w, s.w0, s.w1, s.wy, c.w)
}

// maxTerms is the most linear parameters a model has, derivative columns of
// its time constants included.
const maxTerms = 10

// solution is a linear fit: parameters in the order start, leak, then the
// columns of the model; covariance for unit noise scale.
type solution struct {
	k    int
	beta [maxTerms]float64
	cov  [maxTerms][maxTerms]float64
	chi2 float64
}

// solve fits start, leak and the given columns exactly. ok is false when the
// columns are too nearly dependent to be told apart.
func (s *system) solve(cols ...*wcol) (sol solution, ok bool) {
	k := 2 + len(cols)
	var a [maxTerms][maxTerms]float64
	var b [maxTerms]float64
	a[0][0], a[0][1], a[1][1] = s.base.c0, s.base.c1, s.ll
	b[0], b[1] = s.base.cy, s.ly
	for i, c := range cols {
		a[0][2+i], a[1][2+i], a[2+i][2+i], b[2+i] = c.c0, c.c1, c.cc, c.cy
		for j := range i {
			a[2+j][2+i] = dot(cols[j].w, c.w)
		}
	}
	for i := range k {
		for j := range i {
			a[i][j] = a[j][i]
		}
	}
	return solveNormal(k, &a, &b, s.yy)
}

// solveNormal solves the normal equations by Cholesky after scaling the
// columns to unit length.
func solveNormal(k int, a *[maxTerms][maxTerms]float64, b *[maxTerms]float64, yy float64) (sol solution, ok bool) {
	var scale [maxTerms]float64
	for i := range k {
		if !(a[i][i] > 0) {
			return sol, false
		}
		scale[i] = 1 / math.Sqrt(a[i][i])
	}
	var l [maxTerms][maxTerms]float64
	for i := range k {
		for j := 0; j <= i; j++ {
			sum := a[i][j] * scale[i] * scale[j]
			for m := range j {
				sum -= l[i][m] * l[j][m]
			}
			if i != j {
				l[i][j] = sum / l[j][j]
				continue
			}
			if !(sum > 1e-11) {
				return sol, false
			}
			l[i][i] = math.Sqrt(sum)
		}
	}
	return backSubstitute(k, &l, &scale, b, yy), true
}

func backSubstitute(k int, l *[maxTerms][maxTerms]float64, scale, b *[maxTerms]float64, yy float64) (sol solution) {
	var inv [maxTerms][maxTerms]float64 // inverse of l
	for j := range k {
		inv[j][j] = 1 / l[j][j]
		for i := j + 1; i < k; i++ {
			sum := 0.0
			for m := j; m < i; m++ {
				sum -= l[i][m] * inv[m][j]
			}
			inv[i][j] = sum / l[i][i]
		}
	}
	sol.k, sol.chi2 = k, yy
	for i := range k {
		z := 0.0
		for j := 0; j <= i; j++ {
			z += inv[i][j] * b[j] * scale[j]
		}
		sol.chi2 -= z * z
		for j := 0; j <= i; j++ {
			sol.beta[j] += inv[i][j] * z * scale[j]
			for m := 0; m <= i; m++ {
				sol.cov[j][m] += inv[i][j] * inv[i][m] * scale[j] * scale[m]
			}
		}
	}
	sol.chi2 = max(sol.chi2, 0)
	return sol
}
