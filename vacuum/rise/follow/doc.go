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
// bank of up to Bank values, equally spaced in their logarithm from two steps,
// or a 400th of the record, to five records; they are the nodes over which
// package rise averages.
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
// readings comes to nearly the same interval, but not always to the same one of
// two optima, and the weight of a law may hang on which. So a verdict is given only
// where it stays the same with the weights of the laws changed, with margins about
// zero and the limit, with the leak bounded by the ceiling instead of by the laws,
// and where laws with at most one time constant have a part of the weight;
// Status.Reason says what is open. Outliers are not removed, and the plateau at
// saturation and the melting step are left to package rise.
//
// Over 16052 records, half of the study's laws in white and in lag-1 noise on a
// fine and a coarse gauge and half under conditions of any kind, all 3436 verdicts
// agreed. The margins were set on these. Over 32011 others 6839 verdicts agreed and
// 7 did not, most of them a leak in whose interval package rise keeps zero for the
// sake of two sources that fade. That care costs verdicts: for the laws that both
// fit, in white and in lag-1 noise, over half stay Undetermined, where package rise
// leaves 17 %; for laws that neither fits, nearly all do.
//
// # Porting
//
// The package imports the standard library, units and moisture only. It uses fixed
// arrays and no memory beside the Follower, some 80 kB, most of which Verdict
// needs for its work; exp, log, log1p, sqrt and erfc, and in Add none of them. It
// can be carried over to C line by line.
package follow
