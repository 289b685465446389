// Package follow judges a rise test while it runs: Add takes one reading in
// constant time and memory without allocation, Verdict says on demand what the
// readings prove so far and how much longer to watch.
//
// # What it models
//
// The candidate laws are those of package rise:
//
//	p = a + L t                          steady or leaking
//	p = a + L t + B (1 - exp(-t/τ))      with a source that fades (B > 0) or a
//	                                     pressure that settles (B < 0)
//	two such sources, and a release that falls as (1 + t/t0)^-n
//
// each with an unknown drift of the gas temperature. Time constants come from a
// bank of up to Bank values, equally spaced in their logarithm from an eighth of a
// step to five records; they are the nodes over which package rise averages. Beside
// these laws stand any sources that fade: positive amounts of all exponentials of
// the bank, and of sources of constant rate that end within the record. They say how
// large the noise is where no law describes the readings, and how large a leak may be.
//
// Readings are condensed to at most Blocks blocks, short at first and longer
// later, that hold means and sums of squares and products. A record of no more
// readings is kept as it is; of a longer one the blocks grow with it. The noise
// is learnt from them, its share in proportion to the pressure and its lag-1
// correlation: the covariance of means of such noise is known, so that the blocks
// are whitened exactly.
//
// # When it stays undetermined
//
// Package rise has the last word. A follower that fits the same laws to condensed
// readings comes to nearly the same interval, but the weight of a law may hang on
// what condensing takes, and package rise searches a law of two time constants at its
// optimum, which the follower does not. So a verdict is given only where it stays the
// same with the weights of the laws changed, with a slow tail beside a source that
// fades or without, with margins about zero and the limit, and for any sources that
// fade. It stays open where no law with at most one time constant describes the
// readings, or one of two may count at its optimum. Status.Reason says what is open.
// Outliers are not removed, the plateau at saturation and the melting step are left to
// package rise, and a leak is constant: by a law that heeds the pressure it is 0.1 %
// less at 3 kPa.
//
// The margins were set on 195000 invented records, half of them of the study's laws
// in white and in lag-1 noise on a fine and a coarse gauge, the others under conditions
// of any kind, of up to 2000 readings. On 195120 others the follower gave 61017
// verdicts: 60992 were those of package rise, with a leak within 0.3 of its
// half-width, and 25, one in 2400, were not. Most of these are
// records that package rise leaves open for the sake of sources that end within them,
// or have too few independent readings to agree on the correlation of the noise.
// That care costs verdicts: for the laws that both fit, in white and in lag-1 noise,
// 41 % stay Undetermined, where package rise leaves 17 %; for sources whose law neither
// fits, nearly all do. The interval of an open record is wider than that of package
// rise: any source that fades is asked only where the laws decide.
//
// # Porting
//
// The package imports the standard library, units and moisture only. It uses fixed
// arrays and no memory beside the Follower, some 150 kB, most of which Verdict
// needs for its work. Of mathematics it calls Exp, Expm1, Log, Pow, Sqrt, Hypot,
// Erfc, Ceil, Copysign, Abs and tests for infinity and NaN, and New the saturation
// pressure of package moisture; Add calls none of them unless it refuses. It can be
// carried over to C line by line. Verdict takes 31 to 66 µs by the class of the
// record on a two-core server, 40 µs on the record of BenchmarkVerdict.
package follow
