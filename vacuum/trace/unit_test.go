package trace_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/trace"
)

// A unit in a header means what the same spelling means in a quantity's text.
func TestUnitsAgreeWithQuantities(t *testing.T) {
	for _, unit := range []string{"Pa", "hPa", "kPa", "mbar", "bar", "Torr", "mTorr", "micron", "psia", "atm"} {
		want, err := units.ParsePressure("2.5 " + unit)
		require.NoError(t, err, unit)
		log, err := trace.Read(strings.NewReader("t[s];p["+unit+"]\n0;2.5\n1;2.6\n"), trace.Options{})
		require.NoError(t, err, unit)
		require.InEpsilon(t, float64(want), float64(log.Pressures[0]), 1e-14, unit)
	}
}

// Headers as loggers write them.
func TestHeaderSpellings(t *testing.T) {
	for header, want := range map[string]float64{
		"Time (s);Pressure (Pa)":                    3,
		"elapsed_s;pressure_micron":                 3 * micron,
		"Elapsed Time / s;Vacuum Level / micron":    3 * micron,
		"t [sec];P1 [mm[Hg]]":                       3 * 133.3220,
		"time [s];absolute pressure [inHg abs]":     3 * 25.4 * 133.322387415,
		"Temp [°F];time [s];System Pressure [mbar]": 0,
		"seconds elapsed [s];p,Pa":                  3,
	} {
		text := header + "\n0;3\n1;4\n"
		if want == 0 {
			text = header + "\n68;0;3\n68;1;4\n"
			want = 300
		}
		log, err := trace.Read(strings.NewReader(text), trace.Options{})
		require.NoError(t, err, header)
		require.InEpsilon(t, want, float64(log.Pressures[0]), 1e-9, header)
	}
}
