package riseinput

import (
	"flag"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/trace"
)

func parse(t *testing.T, args ...string) (*Inputs, error) {
	t.Helper()
	in := &Inputs{}
	f := flag.NewFlagSet("", flag.ContinueOnError)
	f.SetOutput(io.Discard)
	in.Register(f)
	if err := f.Parse(args); err != nil {
		return in, err
	}
	return in, in.Check(f)
}

// A zero that was written is refused and not taken for a flag left out.
func TestZeroIsNotSilence(t *testing.T) {
	for _, c := range [][]string{
		{"-volume", "0 L"},
		{"-temperature", "0 K"},
		{"-ambient", "0 hPa"},
		{"-ambient", "500 micron"},
		{"-temperature", "120 °C"},
		{"-leak-limit", ""},
		{"-log-time-unit", ""},
		{"-altitude", " "},
	} {
		_, err := parse(t, c...)
		require.ErrorContains(t, err, c[0])
	}
	in, err := parse(t)
	require.NoError(t, err)
	require.False(t, in.Given())
}

func TestLimit(t *testing.T) {
	for text, want := range map[string]float64{
		"5e-5 Pa·m³/s": 5e-5,
		"1 micron/min": 101325.0 / 760000 / 60 * 0.012, // Q = V dp/dt
	} {
		q, err := (&Inputs{Limit: text}).LimitIn(0.012)
		require.NoError(t, err)
		require.InEpsilon(t, want, float64(q), 1e-12)
	}
	for _, text := range []string{"0 Pa·m³/s", "-1 micron/min", "5", "NaN Pa·m³/s"} {
		_, err := (&Inputs{Limit: text}).LimitIn(0.012)
		require.ErrorContains(t, err, "-leak-limit", text)
	}
}

func TestAmbient(t *testing.T) {
	p, err := (&Inputs{Altitude: "0 m"}).AmbientPressure()
	require.NoError(t, err)
	require.InEpsilon(t, 101325, float64(p), 1e-9) // ISO 2533, sea level
	_, err = (&Inputs{Altitude: "5"}).AmbientPressure()
	require.ErrorContains(t, err, "-altitude")
	_, err = (&Inputs{Altitude: "5 m", Ambient: 1e5}).AmbientPressure()
	require.ErrorContains(t, err, "not both")
}

// 29.8 inches of mercury below 101325 Pa, an inch of mercury being 3386.389 Pa
// (NIST SP 811, table B.9, 32 °F: 3.38638 E+03).
func TestGaugeLog(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.csv")
	require.NoError(t, os.WriteFile(path, []byte("time [min];p [inHg vac]\n0;29.8\n1;29.7\n"), 0o600))
	in := &Inputs{}
	_, err := in.ReadLog(path, 0)
	require.ErrorContains(t, err, "-ambient")
	require.NotContains(t, err.Error(), "Options")
	require.NotContains(t, err.Error(), "-log-pressure-unit")
	log, err := in.ReadLog(path, 101325*units.Pascal)
	require.NoError(t, err)
	require.InDelta(t, 101325-29.8*3386.389, float64(log.Pressures[0]), 0.5)
}

func TestWhatIsWrongIsSaidOnceAndInFlags(t *testing.T) {
	for text, want := range map[string]string{
		"time [s];pressure [psi]\n0;1\n":           "accepted psia or psig",
		"time [s];pressure\n0;1\n":                 "-log-pressure-unit names",
		"time;pressure [Pa]\n0;1\n":                "-log-time-unit names",
		"time [s];pressure [furlong]\n0;1\n":       "unknown pressure unit",
		"time;pressure [Pa]\n06/18/2026 10:00;1\n": "RFC 3339",
	} {
		path := filepath.Join(t.TempDir(), "log.csv")
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		_, err := (&Inputs{}).ReadLog(path, 0)
		require.ErrorContains(t, err, want)
		require.LessOrEqual(t, strings.Count(err.Error(), "ambiguous unit"), 1)
		require.NotContains(t, err.Error(), "Options")
		require.ErrorIs(t, err, trace.ErrFormat)
	}
}
