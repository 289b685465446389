package plotstyle

import "math"

// The figures of these tests are made up: shapes like those of real runs, no
// model behind them.

// pullDown is shaped like three pulls with two breaks over two hours, with a
// gauge near the pump that reads lower than the circuit.
func pullDown() Figure {
	var t, system, gauge []float64
	p := 101325.0
	for i := range 1201 {
		m := float64(i) * 0.1
		floor, rate := 50.0, 0.35
		switch {
		case m < 40:
			floor = 260
		case m >= 45 && m < 75:
			floor = 130
		}
		switch {
		case m >= 40 && m < 45, m >= 75 && m < 80:
			p = math.Min(p*1.6, 135000)
		default:
			p = floor + (p-floor)*math.Exp(-rate*0.1)
			if p < 900 && p > floor {
				p = floor + (p-floor)*math.Exp(0.25*0.1)
			}
		}
		t, system = append(t, m), append(system, p)
		gauge = append(gauge, p*0.55+3)
	}
	return Figure{
		Title: "Three pulls on a wet circuit: the system stays above what the gauge shows",
		Desc:  "Absolute pressure against time on a logarithmic axis. Each pull stalls near the vapour pressure of the water left; the gauge near the pump reads about half of the pressure in the far part.",

		XLabel: "Time, min", YLabel: "Absolute pressure, Pa", LogY: true, Second: Micron(),
		Series: []Series{{Name: "far end", X: t, Y: system}, {Name: "at the gauge", X: t, Y: gauge}},
		Bands: []Band{
			{0, 40, "pull 1"},
			{40, 42, "break 1"},
			{42, 45, "hold 1"},
			{45, 75, "pull 2"},
			{75, 77, "break 2"},
			{77, 80, "hold 2"},
			{80, 112, "pull 3"},
			{112, 120, "watch"},
		},
		Levels: []Level{{611.657, "ice below this"}, {66.661, "target, 500 micron"}},
	}
}

// stores is shaped like the water left in a puddle, oil and vapour.
func stores() Figure {
	var t, liquid, ice, oil, vapour []float64
	for i := range 121 {
		m := float64(i)
		t = append(t, m)
		left := 5 * math.Max(0, 1-m/85)
		frozen := 0.0
		if m > 25 {
			frozen = math.Min(left, 1.2*(1-math.Exp(-(m-25)/10)))
		}
		liquid, ice = append(liquid, left-frozen), append(ice, frozen)
		oil = append(oil, 1.1*math.Exp(-m/150))
		vapour = append(vapour, 0.15*math.Exp(-m/6))
	}
	return Figure{
		Title: "Water left by store: the oil keeps most of what remains",
		Desc:  "Stacked areas of the water left, in grams, against time: oil at the bottom, then ice, liquid and vapour. The puddle is gone after 85 minutes, the oil has lost half.",

		XLabel: "Time, min", YLabel: "Water left, g",
		Areas: []Series{
			{Name: "in oil", X: t, Y: oil},
			{Name: "ice", X: t, Y: ice},
			{Name: "liquid", X: t, Y: liquid},
			{Name: "vapour", X: t, Y: vapour},
		},
		Bands: []Band{{0, 40, "pull 1"}, {40, 45, "break"}, {45, 120, "pull 2"}},
		Marks: []Mark{{85, "puddle gone"}},
	}
}

// rise is shaped like a rise test with a gap and a quantile range.
func rise() Figure {
	var t, p, low, high []float64
	for i := range 31 {
		m := float64(i) * 0.5
		v := 66 + 45*(1-math.Exp(-m/4)) + 0.8*m
		low, high = append(low, v-2-0.6*m), append(high, v+2+0.6*m)
		if i > 14 && i < 18 {
			v = math.NaN()
		}
		t, p = append(t, m), append(p, v)
	}
	return Figure{
		Title: "Rise after isolation", Desc: "Pressure against time in a made-up rise test, with a gap of one minute.",
		XLabel: "Time since isolation, min", YLabel: "Absolute pressure, Pa", Second: Micron(),
		Series: []Series{{Name: "recorded", X: t, Y: p, Low: low, High: high}},
		Levels: []Level{{133.322, "1000 micron"}},
	}
}
