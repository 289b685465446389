package vacuum

import "math"

// species writes the flows of all species, given the total flow n and the mean
// composition.
func (l *law) species(p1, p2, mean *[MaxSpecies]float64, total1, total2, n, sign float64, out *[MaxSpecies]float64) {
	ns := len(l.mix.gases)
	var resist, c [MaxSpecies]float64 // RT/C_i and its inverse
	pm, average := (total1+total2)/2, 0.0
	for i := range ns {
		hindrance, _ := l.mix.hindrance(i, mean)
		resist[i] = l.rt * (l.molecular*l.mix.perSpeed[i] + l.diffusive*pm*hindrance)
		c[i] = 1 / resist[i]
		average += mean[i] * c[i]
	}
	dp, perTotal := total1-total2, 1/total1
	advection := n - average*dp
	perMean := advection / pm
	for i := range ns {
		back := bernoulli(perMean * resist[i])
		// p_down·(x_i1 - x_i2); without fusing it is zero where it has to be.
		drive := (float64(p1[i]*total2) - float64(p2[i]*total1)) * perTotal
		out[i] = sign * (p1[i]*perTotal*(advection+dp*c[i]) + c[i]*drive*back)
	}
}

// bernoulliSlope is the derivative of Bernoulli's function b(x).
func bernoulliSlope(x, b float64) float64 {
	if math.Abs(x) < 0.1 {
		y := x * x
		return -0.5 + x*(1.0/6-y*(1.0/180-y*(1.0/5040)))
	}
	return b * (1 - b - x) / x
}

// bernoulli is x/(exp(x) - 1); below 0.1 its series, which is good to 1e-14
// there. Below 0, where the molecular share of a flow exceeds all of it by a
// per cent or so, x stays small.
func bernoulli(x float64) float64 {
	switch {
	case x > 40:
		return 0 // below 2e-16 of the flow that makes it so
	case math.Abs(x) < 0.1:
		y := x * x
		return 1 - x/2 + y*(1.0/12-y*(1.0/720-y*(1.0/30240)))
	}
	return x / (math.Exp(x) - 1)
}
