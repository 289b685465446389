package rise

import (
	"fmt"
	"math"
	"sort"
	"time"

	"example.com/drydown/units"
)

// outcome is one weighted possibility of how a pull-down goes on.
type outcome struct {
	weight, floor, left float64 // left is +Inf when the target is never reached
}

// foresee fits the last third of the record.
func (f *PullFinding) foresee(r *record, target float64) {
	n := len(r.p)
	from := sort.SearchFloat64s(r.t, r.duration()*2/3)
	if n-from < MinSamples {
		from = n - MinSamples
	}
	if f.Plateau != nil && f.Plateau.Broken {
		after := sort.SearchFloat64s(r.t, f.Plateau.To.Seconds())
		from = max(from, min(after, n-MinSamples))
	}
	t, p := r.t[from:], r.p[from:]
	for i := 3; i <= n && !f.Reached; i++ {
		f.Reached = median(r.p[i-3:i]) <= target
	}
	all := append(towardsFloor(t, p, target), laminarHose(t, p, target)...)
	weigh(all)
	f.FloorLow = units.Pressure(quantileOf(all, 0.025, func(o outcome) float64 { return o.floor }))
	f.Floor = units.Pressure(quantileOf(all, 0.5, func(o outcome) float64 { return o.floor }))
	f.FloorHigh = units.Pressure(quantileOf(all, 0.975, func(o outcome) float64 { return o.floor }))
	if f.Reached {
		return
	}
	left := func(q float64) time.Duration {
		v := quantileOf(all, q, func(o outcome) float64 { return o.left })
		if math.IsInf(v, 1) {
			return -1
		}
		return seconds(v)
	}
	f.TimeLeft = Span{left(0.025), left(0.5), left(0.975)}
	f.Stalled = float64(f.FloorLow) > target
}

// standard normal quantiles of equal shares of probability.
var fifths = [...]float64{-1.2815515655, -0.5244005127, 0, 0.5244005127, 1.2815515655}

// decay is p = f + A exp(-(t - end)/τ) fitted at one τ, with noise in
// proportion to the pressure.
type decay struct{ tau, floor, amp, varF, chi2 float64 }

// fitDecay fits floor and amplitude, neither negative.
func fitDecay(t, p []float64, tau float64) (d decay, ok bool) {
	var a00, a01, a11, b0, b1 float64
	end := t[len(t)-1]
	for k := range t {
		w := 1 / (p[k] * p[k])
		e := math.Exp(-(t[k] - end) / tau) // one at the last reading
		a00 += w
		a01 += w * e
		a11 += w * e * e
		b0 += w * p[k]
		b1 += w * p[k] * e
	}
	det := a00*a11 - a01*a01
	if !(det > 1e-12*a00*a11) {
		return d, false
	}
	d = decay{tau: tau, floor: (a11*b0 - a01*b1) / det, amp: (a00*b1 - a01*b0) / det, varF: a11 / det}
	switch {
	case d.amp <= 0:
		d.floor, d.amp, d.varF = b0/a00, 0, 1/a00
	case d.floor < 0:
		d.floor, d.amp, d.varF = 0, b1/a11, 0
	}
	for k := range t {
		e := (p[k] - d.floor - d.amp*math.Exp(-(t[k]-end)/tau)) / p[k]
		d.chi2 += e * e
	}
	return d, true
}

// decays fits over a grid of τ from a thirtieth to thirty times the span, and a
// finer one about the best.
func decays(t, p []float64) []decay {
	const coarse, fine = 60, 40
	span := t[len(t)-1] - t[0]
	lo, step := math.Log(span/30), 2*math.Log(30)/(coarse-1)
	var grid []decay
	best := decay{chi2: math.Inf(1)}
	add := func(theta float64) {
		if d, ok := fitDecay(t, p, math.Exp(theta)); ok {
			grid = append(grid, d)
			if d.chi2 < best.chi2 {
				best = d
			}
		}
	}
	for i := range coarse {
		add(lo + step*float64(i))
	}
	for _, width := range [...]float64{1, 0.1} { // of a coarse step, each side
		centre := math.Log(best.tau)
		for i := range fine {
			add(centre + width*step*(2*float64(i)/(fine-1)-1))
		}
	}
	sort.Slice(grid, func(i, j int) bool { return grid[i].tau < grid[j].tau })
	return grid
}

// towardsFloor weighs the decays; the weight of a τ is the width of its cell
// in ln τ. Weights are logarithms until weigh.
func towardsFloor(t, p []float64, target float64) []outcome {
	n := float64(len(t))
	grid := decays(t, p)
	least := math.Inf(1)
	for _, d := range grid {
		least = min(least, d.chi2)
	}
	scale := least/max(n-3, 1) + 1e-12
	var out []outcome
	for i, d := range grid {
		cell := math.Log(grid[min(i+1, len(grid)-1)].tau/grid[max(i-1, 0)].tau) / 2
		for _, z := range fifths {
			floor := max(d.floor+z*math.Sqrt(d.varF*scale), 0)
			left := math.Inf(1)
			if target > floor && d.amp > 0 {
				left = max(d.tau*math.Log(d.amp/(target-floor)), 0)
			}
			weight := math.Log(cell/(2*math.Log(30))) - math.Log(float64(len(fifths)))
			out = append(out, outcome{weight - d.chi2/(2*scale) - n/2*math.Log(scale) - math.Log(n), floor, left})
		}
	}
	return out
}

// laminarHose fits 1/p = c + k t: the speed of a laminar hose falls with the
// pressure. It has no floor.
func laminarHose(t, p []float64, target float64) []outcome {
	n := float64(len(t))
	end := t[len(t)-1]
	var sxx, sx, sw, sxy, sy float64
	for i := range t {
		w := p[i] * p[i] // noise of 1/p in proportion to 1/p
		x := t[i] - end
		sw += w
		sx += w * x
		sxx += w * x * x
		sy += w / p[i]
		sxy += w * x / p[i]
	}
	det := sw*sxx - sx*sx
	if !(det > 0) {
		return nil
	}
	c, k := (sxx*sy-sx*sxy)/det, (sw*sxy-sx*sy)/det
	if !(k > 0) || !(c > 0) {
		return nil
	}
	chi2 := 0.0
	for i := range t {
		e := p[i] * (1/p[i] - c - k*(t[i]-end))
		chi2 += e * e
	}
	scale := chi2/max(n-2, 1) + 1e-12
	sd := math.Sqrt(sw / det * scale)
	if k < 5*sd {
		return nil // a pressure that stands still is no hose
	}
	var out []outcome
	for _, z := range fifths {
		slope := max(k+z*sd, k/100)
		out = append(out, outcome{-n/2 - n/2*math.Log(scale) - math.Log(n) - math.Log(float64(len(fifths))), 0, max((1/target-c)/slope, 0)})
	}
	return out
}

// weigh turns logarithms of weights into weights that add up to 1.
func weigh(all []outcome) {
	most, sum := math.Inf(-1), 0.0
	for _, o := range all {
		most = max(most, o.weight)
	}
	for i := range all {
		all[i].weight = math.Exp(all[i].weight - most)
		sum += all[i].weight
	}
	for i := range all {
		all[i].weight /= sum
	}
}

// quantileOf is a weighted quantile of one quantity of the outcomes.
func quantileOf(all []outcome, q float64, value func(outcome) float64) float64 {
	sorted := append([]outcome(nil), all...)
	sort.SliceStable(sorted, func(i, j int) bool { return value(sorted[i]) < value(sorted[j]) })
	sum := 0.0
	for _, o := range sorted {
		if sum += o.weight; sum >= q {
			return value(o)
		}
	}
	return value(sorted[len(sorted)-1])
}

// isolation tells most causes apart.
const isolation = "Close the valve at the circuit and watch the rise: steady means a leak, fading means water, none means pump or hose."

// pumpAlone tells the pump from all that hangs on it.
const pumpAlone = "Close the valve at the pump and read the gauge there: a pump that stays high on its own needs fresh oil."

// suspects ranks what can hold the pressure up.
func suspects(f *PullFinding, o PullOptions) []Suspect {
	var out []Suspect
	if p := f.Plateau; p != nil && !p.Broken {
		state := "water"
		if p.Water < 273.16 {
			state = "ice"
		}
		out = append(out, Suspect{
			WaterCause,
			fmt.Sprintf("the pressure stays where %s at %.1f °C would hold it", state, p.Water.Celsius()),
			"Warm the circuit: the plateau rises with the temperature if it is water, and hardly if it is not. " + isolation,
		})
	}
	if o.BlankOff > 0 && f.FloorLow < 2*o.BlankOff {
		out = append(out, Suspect{
			PumpOilCause,
			fmt.Sprintf("the floor of %s is near the pump's own %s", sayPressure(f.Floor), sayPressure(o.BlankOff)),
			pumpAlone,
		})
	}
	if n := len(f.Speeds); n >= 2 && f.Speeds[n-1].Speed < f.Speeds[0].Speed/5 {
		out = append(out, Suspect{
			HoseCause,
			fmt.Sprintf("the effective speed fell from %.2g to %.2g L/s on the way down", float64(f.Speeds[0].Speed)*1e3, float64(f.Speeds[n-1].Speed)*1e3),
			"Read a second gauge at the pump: a large difference is the hose, cores or valves between them.",
		})
	}
	leak := Suspect{LeakCause, "gas that comes in holds any pump above its blank-off", isolation}
	if n := len(f.Speeds); n > 0 {
		q := float64(f.Floor) * math.Max(float64(f.Speeds[0].Speed), 0)
		leak.Why = fmt.Sprintf("a leak of about %.2g Pa·m³/s would hold this floor at the speed seen at the start", q)
	}
	out = append(out, leak)
	if o.BlankOff == 0 { // last, since nothing in the record points to it
		out = append(out, Suspect{
			PumpOilCause,
			"what the pump reaches on its own is not known; wet or spent oil may hold it at this floor",
			pumpAlone,
		})
	}
	return out
}

// say writes the finding in words; end is the pressure at the end of the record.
func (f *PullFinding) say(o PullOptions, end units.Pressure) string {
	s := ""
	if p := f.Plateau; p != nil {
		how, water := "stayed", fmt.Sprintf("water at %.1f °C boils", p.Water.Celsius())
		if p.Broken {
			how = "paused"
		}
		if p.Water < 273.16 {
			water = fmt.Sprintf("ice at %.1f °C sublimes", p.Water.Celsius())
		}
		s = fmt.Sprintf("The pressure %s at %s, where %s. ", how, sayPressure(p.Pressure), water)
	}
	switch {
	case f.Reached && end > o.Target:
		return s + fmt.Sprintf("The target of %s was reached, but at the end of the record the pressure is %s.", sayPressure(o.Target), sayPressure(end))
	case f.Reached:
		return s + fmt.Sprintf("The target of %s is reached.", sayPressure(o.Target))
	case f.Stalled:
		return s + fmt.Sprintf("Stalled: the pressure tends to %s (%s to %s), above the target of %s; first suspect: %s.",
			sayPressure(f.Floor), sayPressure(f.FloorLow), sayPressure(f.FloorHigh), sayPressure(o.Target), f.Suspects[0].Cause)
	case f.TimeLeft.Best < 0:
		return s + fmt.Sprintf("At this pace the target of %s may never be reached: the pressure tends to %s (%s to %s).",
			sayPressure(o.Target), sayPressure(f.Floor), sayPressure(f.FloorLow), sayPressure(f.FloorHigh))
	case f.TimeLeft.High < 0:
		return s + fmt.Sprintf("The target of %s is at least %s away, most likely %s; the record does not exclude that it is never reached.",
			sayPressure(o.Target), sayTime(f.TimeLeft.Low), sayTime(f.TimeLeft.Best))
	}
	return s + fmt.Sprintf("The target of %s is about %s away (%s to %s).",
		sayPressure(o.Target), sayTime(f.TimeLeft.Best), sayTime(f.TimeLeft.Low), sayTime(f.TimeLeft.High))
}
