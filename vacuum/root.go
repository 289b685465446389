package vacuum

import "math"

// risingRoot is the x between lo and hi where the rising function f passes
// zero, to about 1e-13 of x; the end nearer to zero when it does not pass. It
// is false position with the weights of Anderson and Björck, and halves the
// bracket whenever that is slow.
func risingRoot(f func(x float64) float64, lo, hi float64) float64 {
	flo, fhi := f(lo), f(hi)
	switch {
	case !(flo < 0):
		return lo
	case !(fhi > 0):
		return hi
	}
	width := hi - lo
	for n := 1; n <= 200 && hi-lo > 1e-13*math.Max(math.Abs(lo), math.Abs(hi)); n++ {
		x := hi - fhi*(hi-lo)/(fhi-flo)
		if !(x > lo && x < hi) || n%4 == 0 && hi-lo > width/8 {
			x = lo + (hi-lo)/2
		}
		if n%4 == 0 {
			width = hi - lo
		}
		fx := f(x)
		switch {
		case fx == 0:
			return x
		case fx < 0:
			fhi *= weight(fx, flo)
			lo, flo = x, fx
		default:
			flo *= weight(fx, fhi)
			hi, fhi = x, fx
		}
	}
	if -flo < fhi {
		return lo
	}
	return hi
}

// weight is how much the value at the end that stayed counts next time.
func weight(now, before float64) float64 {
	if m := 1 - now/before; m > 0 {
		return m
	}
	return 0.5
}
