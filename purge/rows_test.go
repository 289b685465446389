package purge

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// row is one line of a file in testdata.
type row struct {
	name, input, unit string
	value, tolerance  float64
	source, evidence  string
}

// readRows reads testdata/kind/purge.csv.
func readRows(t testing.TB, kind string) []row {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "testdata", kind, "purge.csv"))
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	r := csv.NewReader(f)
	r.Comment = '#'
	lines, err := r.ReadAll()
	require.NoError(t, err)
	require.Equal(t, []string{"name", "input", "unit", "value", "tolerance", "source", "evidence"}, lines[0])
	var rows []row
	for _, l := range lines[1:] {
		require.NotEmpty(t, l[5], "row %s has no source", l[0])
		require.NotEmpty(t, l[6], "row %s has no evidence", l[0])
		rows = append(rows, row{l[0], l[1], l[2], number(t, l[3]), number(t, l[4]), l[5], l[6]})
	}
	return rows
}

func number(t testing.TB, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return v
}

// checkRows holds got, by row name, to the rows of a kind. Each entry of got
// must have a row and each row but those of the excepted names an entry.
func checkRows(t *testing.T, kind string, got map[string]float64, except ...string) {
	t.Helper()
	skip := map[string]bool{}
	for _, e := range except {
		skip[e] = true
	}
	seen := map[string]bool{}
	for _, r := range readRows(t, kind) {
		if skip[r.name] {
			continue
		}
		v, ok := got[r.name]
		if !ok {
			t.Errorf("row %s has no computed value", r.name)
			continue
		}
		seen[r.name] = true
		if !(math.Abs(v-r.value) <= r.tolerance) {
			t.Errorf("%s: got %.9g, want %.9g ± %g %s (%s; %s)", r.name, v, r.value, r.tolerance, r.unit, r.source, r.evidence)
		}
	}
	for name := range got {
		if !seen[name] {
			t.Errorf("no row in testdata/%s/purge.csv for %s", kind, name)
		}
	}
}

// must returns v and stops the program on an error: for tests and examples
// whose inputs are constants.
func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}
