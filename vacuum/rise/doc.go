// Package rise judges the pressure rise after a circuit has been isolated from
// its pump: is it tight, does it leak, is it still wet, or can this record not
// tell?
//
// # What it models
//
// Interpret fits candidate laws to a record and states a verdict with the leak
// rate, its interval, the water seen, and what would settle an open question:
//
//	steady       p = a + L t
//	vapour       + B (1 - exp(-t/τ)), B ≥ 0     moisture, slow desorption
//	two vapours  two of these
//	power law    release ∝ (1 + t/t0)^-n        outgassing; n = 1 is ln(1 + t/t0)
//	settling     - B (1 - exp(-t/τ))            parts of the circuit equalising
//	predicted    + A share(t)                   the same, as a model of the circuit foresees
//
// and it recognises a plateau at the saturation pressure of water at site
// temperature, a pause at the triple point of water (611.657 Pa), a rise beyond
// saturation, a stuck gauge and one that was over its range. The constant-slope
// part of a rise is the leak, the falling-slope part is outgassing or vapour:
// tutorial texts on the pressure-rise test; W. Umrath (ed.), Fundamentals of
// Vacuum Technology, section 5.4.1.
//
// Finding.Fits lists the laws that stay plausible with their weights, and
// Finding.Average is what they predict together. PredictEqualisation asks a
// vacuum.Circuit how its sides settle after isolation: without that, and with one
// gauge, they look like moisture.
//
// Plan designs a test before it is run, PressureTest the standing nitrogen test
// before the vacuum. Service turns a leak into grams of refrigerant per year.
//
// # What it leaves out
//
// A source of vapour slower than five times the record cannot be told from a
// leak by any analysis of that record and counts as a leak. A leak is taken to
// follow one law between ambient pressure and the pressure inside. The reading
// is taken as a true absolute pressure: a thermal gauge calibrated for air reads
// water vapour high. Unknown drift of the gas temperature enters as a linear
// term with a stated standard deviation; a standing pressure test, which it would
// decide, allows for any course. Vapour that comes out at the pace at which the
// circuit is foreseen to settle is taken for that.
//
// # Numbers
//
// Units are SI: Pa, s, m³, K, Pa·m³/s. Leaks are pV flows at site temperature.
// Intervals are at Options.Confidence; they are calibrated by simulation, not
// proven. The study behind that draws records at random from the fitted laws,
// from laws that are not fitted (diffusion from a slab, stretched exponentials,
// power laws with an offset, a source that falls with the square of the
// pressure, two-rate settling) and from simulated circuits, in white and lag-1
// noise, with a coarse gauge and with outliers:
//
//	go test ./vacuum/rise -run TestStudy -v -study 2000 -timeout 40m
//
// testdata/study.txt is what it printed. In short: 95 % intervals of a leak
// cover 96.0 % in white and 94.7 % in lag-1 noise for the fitted laws, 95.7 and
// 95.5 % beside a stretched exponential or a puddle that dries up, which are not
// fitted; the least in any class of 2000 is 92.1 % (a puddle, in records with
// outliers), in white noise 94.6 %. Wrong verdicts other than Undetermined are 0.5
// to 0.6 % of all records (Tight is not counted as wrong where there is no leak
// but a source), at most 3.9 % in any class (power laws with an offset, in white
// noise).
//
// No interval rests on the fitted laws alone, which take a part of a leak for
// their own slow end where they are not quite true. A source whose rate is a sum
// of decaying processes is a sum of exponentials with positive amounts; where the
// record shows that a source stopped, sources of constant rate that stop are among
// them. The largest leak compatible with any such sum bounds the interval from
// above, and where no fitted law describes the record the smallest bounds it from
// below (non-negative least squares, Lawson and Hanson 1974, from memory). Beside
// a source with a wide spread of time constants a record often holds no more than
// that: of leaks three to fifty times the limit beside a stretched exponential
// 45 % stay Undetermined in white noise, and 32 % of such sources without a leak. A
// source of constant rate cannot be told from a leak until it ends, and is not
// looked for when it ends in the last 30 % of the record: of simulated puddles
// with a leak 2.4 % get a wrong verdict in white noise.
//
// Statistics: weighted separable least squares (Golub and Pereyra 1973), Bayesian
// information criterion (Schwarz 1978), effective sample size of lag-1 noise
// (Bayley and Hammersley 1946), all from memory and each checked against an
// independent computation in the tests.
//
// All functions are safe for concurrent use and depend on nothing but their
// arguments.
package rise
