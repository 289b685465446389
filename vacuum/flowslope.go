package vacuum

import "math"

// flowSlopes are the derivatives of the flows of a law by the partial pressures
// at its two sides, mol/(s·Pa): by1[i][j] is that of species i by p1[j].
type flowSlopes struct {
	by1, by2 [MaxSpecies][MaxSpecies]float64
}

// flowSlopes is flow with its derivatives, all of them in closed form: where a
// wide passage joins volumes that differ by less than a millionth of their
// pressure, differences of flows would be worth nothing, and even a relative
// error of 1e-8 would let a stiff integrator mistake it for a change of
// composition. Where a flow reverses, the derivatives are those of the side
// that flow takes for upstream.
func (l *law) flowSlopes(p1, p2, out *[MaxSpecies]float64, d *flowSlopes) {
	ns := len(l.mix.gases)
	*out = [MaxSpecies]float64{}
	*d = flowSlopes{}
	if ns == 1 {
		out[0], d.by1[0][0], d.by2[0][0] = l.singleSlopes(p1[0], p2[0])
		return
	}
	total1, total2 := l.sums(p1, p2)
	sign, up, down := 1.0, &d.by1, &d.by2
	if total2 > total1 {
		p1, p2, total1, total2, sign, up, down = p2, p1, total2, total1, -1, &d.by2, &d.by1
	}
	if !(total1 > leastPressure) {
		for i := range ns {
			c := l.vacuumSlope(i)
			d.by1[i][i], d.by2[i][i] = c, -c
		}
		return
	}
	var x [MaxSpecies]float64
	l.mean(p1, p2, total1+total2, &x)
	var t totalSlopes
	n := l.totalSlopes(&x, total1, total2, &t)
	l.speciesSlopes(p1, p2, &x, total1, total2, n, sign, &t, out, up, down)
}

// singleSlopes is single with its derivatives by both pressures.
func (l *law) singleSlopes(p1, p2 float64) (n, by1, by2 float64) {
	up, down := p1, p2
	if p2 > p1 {
		up, down = p2, p1
	}
	if !(up > leastPressure) {
		c := l.vacuumSlope(0)
		return 0, c, -c
	}
	var t totalSlopes
	n = l.totalSlopes(nil, up, down, &t)
	if p2 > p1 {
		return -n, -t.by2, -t.by1
	}
	return n, t.by1, t.by2
}

// vacuumSlope is the flow of species i per Pa where there is next to nothing,
// so that every species goes by itself.
func (l *law) vacuumSlope(i int) float64 {
	return 1 / (l.rt * l.molecular * l.mix.perSpeed[i])
}

// totalSlopes are the derivatives of the total flow: by the totals at both
// sides at constant composition, and by one Pa more of a species at either side
// through the mean composition.
type totalSlopes struct {
	by1, by2 float64
	by       [MaxSpecies]float64
}

// totalSlopes is the total flow n = c·Δp and its derivatives, from those of
// F(c, p1, p2, x) = Σ r_i·(1+e_i)·c + h·felt·c² - 1 = 0.
func (l *law) totalSlopes(x *[MaxSpecies]float64, p1, p2 float64, t *totalSlopes) float64 {
	b := l.revisit(x, p1, p2)
	n, r, h, perMole := l.last.n, l.last.r, l.last.h, l.last.perMole
	dp, felt := p1-p2, l.felt(p1, p2)
	c, share, byMean := 1/r, 1.0, 0.0 // felt by Δp and by each of the pressures
	if felt > 0 {
		share, byMean = dp/felt, l.linear*l.linear*(p1+p2)/(4*felt)
		c = 2 / (r + math.Sqrt(r*r+4*h*felt))
		if dp > 0 {
			c = n / dp
		}
	}
	f := l.resistanceSlopes(b, p1, p2, n, perMole)
	nozzle, by1, by2, byRatio := b.nozzleSlopes(l.rt, p1, p2)
	rate := f.slope + 2*c*felt*f.inertia*nozzle
	square := n * c * felt
	byDrop := c * (rate - f.reynolds - n*f.inertia*nozzle*share)
	byMean *= -n * c * f.inertia * nozzle
	t.by1 = (byDrop + byMean - f.by1 - square*(f.inertiaBy1*nozzle+f.inertia*by1)) / rate
	t.by2 = (-byDrop + byMean - f.by2 - square*f.inertia*by2) / rate
	if len(l.mix.gases) == 1 {
		return n // no composition to change
	}
	var viscosity [MaxSpecies]float64
	l.mix.viscositySlopes(x, &viscosity)
	inertiaByLog := -square * nozzle * p1 * f.inertiaBy1
	byViscosity := (f.viscosity - n*f.reynolds + inertiaByLog) / b.viscosity
	bySpeed := (f.speed + inertiaByLog) / b.speed
	byMass := (n*f.reynolds + square*f.inertia*nozzle) / b.molarMass
	byChoke := -square * f.inertia * nozzle / b.choke
	byRatio *= square * f.inertia
	perTotal := -1 / ((p1 + p2) * rate)
	for j := range l.mix.gases {
		m := l.mix
		t.by[j] = perTotal * (byViscosity*viscosity[j] + bySpeed*(m.speed[j]-b.speed) +
			byMass*(m.molarMass[j]-b.molarMass) + byChoke*(m.choke[j]-b.choke) + byRatio*(m.ratio[j]-b.ratio))
	}
	return n
}

// revisit makes the point that was last worked out the one asked for, and
// answers its blend. Mostly it is the one already.
func (l *law) revisit(x *[MaxSpecies]float64, p1, p2 float64) *blend {
	at, b := &l.last, &l.mix.pure
	if len(l.mix.gases) > 1 {
		b = &l.last.blend
		if at.x != *x {
			at.x, at.p1 = *x, 0
		}
	}
	if at.p1 != p1 || at.p2 != p2 {
		l.total(x, p1, p2)
	}
	return b
}

// resistanceSlope holds the derivatives of the pressure that a flow n takes:
// of its resistive part by n, by both pressures and by the logarithms of
// viscosity and speed, the share of the first that comes from the Reynolds
// number; and inertia, Σ h_i without the nozzle,
// with its derivative by the upstream pressure.
type resistanceSlope struct {
	slope, by1, by2, viscosity, speed, reynolds float64
	inertia, inertiaBy1                         float64
}

// resistanceSlopes sums them over the segments; coefficients must have left
// the resistances in place.
func (l *law) resistanceSlopes(b *blend, p1, p2, n, perMole float64) (f resistanceSlope) {
	perDelta, m, m34 := b.perDelta, n*perMole, 0.0
	if m > l.critical {
		root := math.Sqrt(m)
		m34 = root * math.Sqrt(root)
	}
	for i := range l.segments {
		s, r := &l.segments[i], l.resist[i]
		e, de := s.excess(m, m34)
		f.slope += r * (1 + e + de)
		f.reynolds += r * de
		perPa := s.radius * perDelta
		d1, d2 := p1*perPa, p2*perPa
		slip, slip1, slip2 := s.slipSlopes(d1, d2)
		// r = RT/g, so that dr = -r²/RT·dg.
		weight := -n * (1 + e) * r * r / l.rt
		viscous, rarefied := s.viscous/b.viscosity, s.rarefied*b.speed
		f.by1 += weight * (viscous + rarefied*slip1*perPa)
		f.by2 += weight * (viscous + rarefied*slip2*perPa)
		byDelta := rarefied * (slip1*d1 + slip2*d2)
		f.viscosity -= weight * (viscous*(p1+p2) + byDelta)
		f.speed += weight * (rarefied*slip - byDelta)

		share := 1 / (d1 + inertialDelta)
		f.inertia += s.inertial * d1 * share
		f.inertiaBy1 += s.inertial * inertialDelta * share * share * perPa
	}
	return f
}

// nozzleSlopes is nozzle with its derivatives by both pressures and by ratio.
func (b *blend) nozzleSlopes(rt, p1, p2 float64) (v, by1, by2, byRatio float64) {
	k := b.molarMass * rt / b.choke
	if p2 > b.ratio*p1 {
		d, den := 1-b.ratio, 1/((1-2*b.ratio)*p1+p2)
		v = k * d * d * den
		return v, -v * den * (1 - 2*b.ratio), -v * den, v * (2*p1*den - 2/d)
	}
	k /= p1 * p1
	return k * (p1 - p2), k * (2*p2 - p1) / p1, -k, 0
}

// speciesSlopes writes the flows of the species and their derivatives by the
// partial pressures upstream and downstream.
func (l *law) speciesSlopes(p1, p2, x *[MaxSpecies]float64, total1, total2, n, sign float64, t *totalSlopes,
	out *[MaxSpecies]float64, up, down *[MaxSpecies][MaxSpecies]float64,
) {
	ns, pm, dp := len(l.mix.gases), (total1+total2)/2, total1-total2
	perSum, perTotal := 1/(total1+total2), 1/total1
	var c, perC, share, drive [MaxSpecies]float64
	var byC [MaxSpecies][MaxSpecies]float64 // of c[i] by a Pa more of species j at either side
	average := l.drifts(x, pm, &c, &perC, &byC)
	advection, perMean := n-average*dp, 2*perSum
	var back, slope, peclet [MaxSpecies]float64
	for i := range ns {
		peclet[i] = advection * perMean * perC[i]
		back[i] = bernoulli(peclet[i])
		slope[i] = bernoulliSlope(peclet[i], back[i])
		share[i] = p1[i] * perTotal
		drive[i] = (float64(p1[i]*total2) - float64(p2[i]*total1)) * perTotal
		out[i] = sign * (share[i]*(advection+dp*c[i]) + c[i]*drive[i]*back[i])
	}
	for j := range ns {
		byAverage := (c[j] - average) * perSum
		for i := range ns {
			byAverage += x[i] * byC[i][j]
		}
		by1 := t.by1 + t.by[j] - average - byAverage*dp // of advection
		by2 := t.by2 + t.by[j] + average - byAverage*dp
		for i := range ns {
			perFlow := perC[i] * perMean
			relative := byC[i][j]*perC[i] + perSum // of c·pm
			byShare, own := -share[i]*perTotal, 0.0
			if i == j {
				byShare += perTotal
				own = 1
			}
			spread := c[i] * drive[i] * slope[i]
			both := byC[i][j]*(share[i]*dp+drive[i]*back[i]) - spread*peclet[i]*relative
			advected := share[i] + spread*perFlow
			up[i][j] = sign * (byShare*(advection+dp*c[i]+c[i]*total2*back[i]) + share[i]*c[i] + advected*by1 + both)
			down[i][j] = sign * (c[i]*back[i]*(share[i]-own) - share[i]*c[i] + advected*by2 + both)
		}
	}
}

// drifts writes the conductance C_i/RT of each species by itself, its inverse and
// its derivatives, and answers the mean of them.
func (l *law) drifts(x *[MaxSpecies]float64, pm float64, c, perC *[MaxSpecies]float64, by *[MaxSpecies][MaxSpecies]float64) (average float64) {
	ns := len(l.mix.gases)
	for i := range ns {
		hindrance, amount := l.mix.hindrance(i, x)
		perC[i] = l.rt * (l.molecular*l.mix.perSpeed[i] + l.diffusive*pm*hindrance)
		c[i] = 1 / perC[i]
		average += x[i] * c[i]
		weight := -c[i] * c[i] * l.rt * l.diffusive / 2
		perAmount, toward := 1/amount, 0.0 // what the growth of the sum does to the mole fractions
		for j := range ns {
			if j != i {
				toward += x[j] * (l.mix.perDp[i][j] - hindrance)
			}
		}
		for j := range ns {
			d := -toward
			if j != i {
				d += l.mix.perDp[i][j] - hindrance
			}
			by[i][j] = weight * (hindrance + d*perAmount)
		}
	}
	return average
}
