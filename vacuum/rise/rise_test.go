package rise_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
	"example.com/drydown/vacuum/trace"
)

const tracesDir = "../../testdata/traces"

// TestInventedRecords holds every verdict on the invented records against the
// verdicts that are not wrong for the law that made them.
func TestInventedRecords(t *testing.T) {
	f, err := os.Open(filepath.Join(tracesDir, "truth.csv"))
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 21)
	for _, row := range rows[1:] {
		log, err := trace.ReadFile(filepath.Join(tracesDir, row[0]), trace.Options{})
		require.NoError(t, err)
		volume := units.Volume(number(t, row[6])) * units.Litre
		rate := units.PressureRate(number(t, row[5]) * float64(units.Micron) / 60)
		got, err := rise.Interpret(log, rise.Options{
			Volume:          volume,
			SiteTemperature: units.Celsius(number(t, row[7])),
			LeakLimit:       rise.LimitFromRise(rate, volume),
		})
		require.NoError(t, err)
		t.Logf("%s %-9s %-18v %v\n   models %.3f fit %+v rec %+v", row[0], row[1], got.Verdict, got.Sentence, got.Models, got.Fit, got.Record)
		accepted := strings.Split(row[11], "|")
		assert.Contains(t, accepted, goName(got.Verdict), "%s (%s): %+v", row[0], row[1], got)
		// The true leak lies in the interval.
		leak := number(t, row[2]) * float64(units.Micron) / 60 * float64(volume)
		if row[1] != "stuck" && row[1] != "plateau" {
			assert.LessOrEqual(t, float64(got.Leak.Low), leak*1.01, row[0])
			assert.GreaterOrEqual(t, float64(got.Leak.High), leak*0.99, row[0])
		}
	}
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return v
}

// goName is the verdict as truth.csv spells it.
func goName(v rise.Verdict) string {
	return map[rise.Verdict]string{
		rise.Undetermined: "Undetermined", rise.Tight: "Tight", rise.Leak: "Leak", rise.Moisture: "Moisture",
		rise.LeakAndMoisture: "LeakAndMoisture", rise.Outgassing: "Outgassing", rise.Equalising: "Equalising",
	}[v]
}
