package main

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
)

// A tight record often has a best leak of zero, which has no law of its own: the
// largest leak says which row counts.
func TestLossWordsOfTightRecord(t *testing.T) {
	q := &question{service: &rise.Service{Pressure: 1.7e6, Temperature: 300}}
	for _, c := range []struct {
		best, most units.Throughput // mbar·L/s
		want       string
	}{
		{0, 1e-3, "the largest size flows laminarly"},
		{0, 1e-5, "may flow either way: both rows are bounds"},
		{0, 1e-9, "the largest size flows molecularly"},
		{1e-9, 1e-3, "different laws: both rows are bounds"},
		{2e-3, 3e-3, "the largest size flows laminarly"},
	} {
		f := rise.Finding{Leak: rise.Interval{Best: c.best * units.MillibarLitrePerSecond, High: c.most * units.MillibarLitrePerSecond}}
		require.Contains(t, q.lossWords(&f), c.want)
	}
}
