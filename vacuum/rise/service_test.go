package rise_test

import (
	"encoding/csv"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
)

// TestPublishedGasLoad holds the gas-load arithmetic against printed and
// recomputed values; each row names its source and its tolerance.
func TestPublishedGasLoad(t *testing.T) {
	for _, file := range []string{"published", "recomputed"} {
		f, err := os.Open("../../testdata/" + file + "/rise.csv")
		require.NoError(t, err)
		r := csv.NewReader(f)
		r.Comment = '#'
		rows, err := r.ReadAll()
		require.NoError(t, err)
		require.NoError(t, f.Close())
		for _, row := range rows[1:] {
			t.Run(row[0], func(t *testing.T) {
				in := map[string]float64{}
				law := ""
				for _, pair := range strings.Fields(row[1]) {
					key, value, _ := strings.Cut(pair, "=")
					if key == "law" {
						law = value
						continue
					}
					in[key] = number(t, value)
				}
				require.InDelta(t, number(t, row[3]), gasLoad(t, law, in), number(t, row[4]), row[5])
			})
		}
	}
}

// gasLoad computes one row with the package's own functions.
func gasLoad(t *testing.T, law string, in map[string]float64) float64 {
	t.Helper()
	temp, mass := units.Temperature(in["T"]), units.MolarMass(in["M"])
	switch law {
	case "rise":
		q, err := rise.LeakFromRise(units.Volume(in["V"]), units.Pressure(in["dp"]), in["t"])
		require.NoError(t, err)
		return float64(q)
	case "decay":
		q, err := rise.LeakFromRise(units.Volume(in["V"]), units.Pressure(in["p2"]-in["p1"]), in["t"])
		require.NoError(t, err)
		return float64(q.MolarFlow(temp))
	case "molar":
		return float64(units.MolarFlow(in["n"]).Throughput(temp)) / in["unit"]
	case "moles":
		return float64(units.Throughput(in["q"]).MolarFlow(temp))
	case "scale":
		u := rise.InUnits(units.Throughput(in["q"]))
		for unit, v := range map[float64]float64{1: u.PascalCubicMetre, 0.1: u.MillibarLitre, 0.101325: u.AtmosphereCubicCentm} {
			if unit == in["unit"] {
				return v
			}
		}
		return u.MicronLitre / 1000
	case "year":
		m, err := rise.GasLoss(units.Throughput(in["q"]), mass, temp)
		require.NoError(t, err)
		return rise.GramsPerYear(m)
	case "loss":
		return in["m"] / float64(mass) * units.GasConstant * float64(temp) / in["t"]
	case "leak":
		unit, err := rise.GasLoss(1, mass, temp)
		require.NoError(t, err)
		return in["m"] / rise.GramsPerYear(unit)
	}
	require.Fail(t, "unknown law", law)
	return math.NaN()
}

var r134a = rise.Service{
	MolarMass: 0.102032, Viscosity: 11.66e-6, Pressure: 10 * units.Bar, Ambient: units.Atmosphere, Temperature: units.Celsius(20),
}

// The gas conversion at equal pressure drop: R-134a against helium is 0.19806
// molecular, and 19.6/11.66 laminar (recomputed, √(M/M) and µ/µ at 20 °C); here
// against air, from a vacuum test at 1 atm to a service pressure of 2 atm, where
// the laminar factor is (4-1)/1 and the molecular one (2-1)/1.
func TestServiceConversion(t *testing.T) {
	s := r134a
	s.Pressure = 2 * units.Atmosphere
	loss, err := s.Loss(1e-6)
	require.NoError(t, err)
	plain, err := rise.GasLoss(1e-6, s.MolarMass, s.Temperature)
	require.NoError(t, err)
	require.InEpsilon(t, float64(plain)*3*18.2/11.66, float64(loss.Laminar), 1e-12)
	require.InEpsilon(t, float64(plain)*math.Sqrt(28.9647/102.032), float64(loss.Molecular), 1e-12)
	require.Equal(t, rise.UnsureRegime, loss.Regime)
	least, greatest := loss.Range()
	require.Less(t, least, greatest)

	laminar, molecular, err := s.Leak(loss.Laminar)
	require.NoError(t, err)
	require.InEpsilon(t, 1e-6, float64(laminar), 1e-12)
	require.Greater(t, molecular, laminar)
}

func TestRegimes(t *testing.T) {
	require.Equal(t, rise.LaminarRegime, rise.RegimeOf(1e-3*units.MillibarLitrePerSecond))
	require.Equal(t, rise.MolecularRegime, rise.RegimeOf(1e-8*units.MillibarLitrePerSecond))
	require.Equal(t, "laminar or molecular", rise.RegimeOf(1e-6*units.MillibarLitrePerSecond).String())
}

func TestServiceRefuses(t *testing.T) {
	for _, change := range []func(*rise.Service){
		func(s *rise.Service) { s.MolarMass = 0 },
		func(s *rise.Service) { s.Viscosity = units.Viscosity(math.NaN()) },
		func(s *rise.Service) { s.Pressure = 5e4 },
		func(s *rise.Service) { s.Ambient = 0 },
		func(s *rise.Service) { s.Temperature = 20 },
	} {
		s := r134a
		change(&s)
		_, err := s.Loss(1e-6)
		require.ErrorIs(t, err, units.ErrOutOfRange)
		require.ErrorContains(t, err, "Service.")
	}
	_, err := r134a.Loss(-1)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	_, err = rise.LeakFromRise(0, 1, 1)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	_, err = rise.GasLoss(1, 0.1, 0)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	for _, q := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		_, err = rise.GasLoss(units.Throughput(q), 0.1, 300)
		require.ErrorIs(t, err, units.ErrOutOfRange, "%g", q)
		require.ErrorContains(t, err, "rise.GasLoss: q = ")
	}
}

// A refrigerant at ambient pressure stays inside, whatever the leak; no leak
// loses any then.
func TestServiceAtAmbient(t *testing.T) {
	s := r134a
	s.Pressure = s.Ambient
	loss, err := s.Loss(1e-6)
	require.NoError(t, err)
	require.Zero(t, loss.Laminar)
	require.Zero(t, loss.Molecular)
	_, _, err = s.Leak(1e-9)
	require.ErrorIs(t, err, units.ErrOutOfRange)
}
