package trace_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/trace"
)

// What a log asks for is said as a value, and its option settles it.
func TestNeed(t *testing.T) {
	for text, c := range map[string]struct {
		need trace.Need
		says string
		opts trace.Options
	}{
		"time [s],p [psig]\n0,-14\n":               {trace.NeedAmbient, "Options.Ambient", trace.Options{Ambient: units.Atmosphere}},
		"time [s],p\n0,-14 psig\n":                 {trace.NeedAmbient, "Options.Ambient", trace.Options{Ambient: units.Atmosphere}},
		"time [s],pressure\n0,1\n":                 {trace.NeedPressureUnit, "Options.PressureUnit", trace.Options{PressureUnit: "Pa"}},
		"time,pressure [Pa]\n0,1\n":                {trace.NeedTimeUnit, "Options.TimeUnit", trace.Options{TimeUnit: "s"}},
		"time,pressure [Pa]\n06/18/2026 10:00,1\n": {trace.NeedLayout, "Options.Layouts", trace.Options{Layouts: []string{"01/02/2006 15:04"}}},
		"time [s],pressure [furlong]\n0,1\n":       {trace.NeedNothing, "furlong", trace.Options{}},
	} {
		_, err := trace.Read(strings.NewReader(text), trace.Options{})
		var format *trace.FormatError
		require.ErrorAs(t, err, &format, text)
		require.Equal(t, c.need, format.Need, text)
		require.ErrorContains(t, err, c.says)
		require.NotContains(t, format.Text, "Options")
		if c.need != trace.NeedNothing {
			_, err = trace.Read(strings.NewReader(text), c.opts)
			require.NoError(t, err, text)
		}
	}
}
