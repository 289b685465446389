package vacuum

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"example.com/drydown/moisture"
)

// drawPumpLaw is a pump with or without curve, return, ballast and oil.
func drawPumpLaw(t *rapid.T) (pumpLaw, sysNode, *sysNode) {
	l := pumpLaw{
		speed: 1e-3, dryLow: 2, low: rapid.Float64Range(0.1, 20).Draw(t, "low"), back: rapid.IntRange(-1, 2).Draw(t, "back"),
		carried: 0.2, tolerance: rapid.SampledFrom([]float64{0, 500}).Draw(t, "tolerance"), wet: true,
	}
	if l.back == 0 {
		l.back = 1
	}
	if rapid.Bool().Draw(t, "curve") {
		l.curve = must(NewSpeedCurve(SpeedPoint{5, 0.5e-3}, SpeedPoint{100, 1e-3}, SpeedPoint{101325, 0.8e-3}))
	}
	n := sysNode{temp: 300}
	for k := range 3 {
		n.partial[k] = math.Exp(rapid.Float64Range(-2, 8).Draw(t, "p"))
		n.total += n.partial[k]
	}
	if rapid.Bool().Draw(t, "no oil") {
		return l, n, nil
	}
	law := must(moisture.FitSaturation(moisture.SaturationPoint{Temperature: 293.15, Content: 250e-6}, moisture.SaturationPoint{Temperature: 333.15, Content: 1e-3}))
	l.oil = must((&PumpOil{Mass: 1, Law: law}).saturated())
	l.oil.approach = rapid.Float64Range(1e-3, 1).Draw(t, "approach")
	oil := sysNode{temp: 333.15, oil: true}
	oil.partial[0] = math.Exp(rapid.Float64Range(-2, 12).Draw(t, "oil"))
	return l, n, &oil
}

// The closed-form derivatives of a pump and its oil against differences, and
// what leaves the gas against what arrives.
func TestPumpSlopesAgainstDifferences(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, n, oil := drawPumpLaw(t)
		const ns = 3
		var out [2*MaxSpecies + 1]float64
		var d partSlopes
		flows := func(part int, out []float64, d *partSlopes) int {
			if part == 1 {
				l.oilGain(&n, oil, ns, out, d)
				return 1
			}
			l.flow(&n, oil, ns, out, d)
			outs := ns + 1
			if l.back >= 0 {
				outs++
			}
			if oil != nil {
				outs++
			}
			return outs
		}
		parts := 1
		vars := ns
		if oil != nil {
			parts, vars = 2, ns+1
		}
		for part := range parts {
			outs := flows(part, out[:], &d)
			for v := range vars {
				at := &n.partial[0]
				switch {
				case v < ns:
					at = &n.partial[v]
				default:
					at = &oil.partial[0]
				}
				keep, total := *at, n.total
				for i := range outs {
					value := func(p float64) float64 {
						*at = p
						if v < ns {
							n.total = total + p - keep
						}
						var o [2*MaxSpecies + 1]float64
						flows(part, o[:], nil)
						*at, n.total = keep, total
						return o[i]
					}
					want, err := centralSlope(value, keep, 1e-4*keep)
					if math.Abs(d[i][v]-want) > 1e-6*math.Abs(want)+20*err+1e-12 {
						t.Fatalf("part %d flow %d by %d: %g, differences %g ± %g", part, i, v, d[i][v], want, err)
					}
				}
			}
		}
		for _, f := range out[:flows(0, out[:], nil)] {
			if !(f >= 0) {
				t.Fatalf("a flow is negative: %v", out)
			}
		}
	})
}

func TestPumpFlowDoesNotAllocate(t *testing.T) {
	curve := must(NewSpeedCurve(SpeedPoint{5, 0.5e-3}, SpeedPoint{100, 1e-3}, SpeedPoint{101325, 0.8e-3}))
	p := Pump{Curve: curve, BlankOff: 2, VapourTolerance: 500}
	l := p.prepare(true)
	l.wet, l.back = true, 1
	l.oil = oilLaw{saturation: 2e4, perMole: 1e5, approach: 0.1}
	n := sysNode{temp: 300, total: 50, partial: [MaxSpecies]float64{30, 20}}
	oil := sysNode{temp: 333, partial: [MaxSpecies]float64{100}}
	var out [2*MaxSpecies + 1]float64
	var d partSlopes
	if a := testing.AllocsPerRun(100, func() {
		l.flow(&n, &oil, 2, out[:], &d)
		l.oilGain(&n, &oil, 2, out[:], &d)
	}); a != 0 {
		t.Errorf("%g allocations", a)
	}
}
