package trace_test

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/trace"
)

// A mark that may stand between thousands is refused until it is declared.
func TestThousands(t *testing.T) {
	for name, text := range map[string]string{
		"quoted":        "time [s],pressure [micron]\n0,\"760,000\"\n1,\"12,500\"\n2,\"1,250\"\n3,987\n4,950\n",
		"quoted, whole": "time [s],pressure [micron]\n0,\"760,000\"\n1,\"12,500\"\n2,\"1,250\"\n",
		"semicolon":     "time [s];pressure [micron]\n0;760,000\n1;12,500\n2;1,250\n3;987\n4;950\n",
		"twice":         "time [s];pressure [micron]\n0;1,760,000\n1;12,500\n2;1,250\n",
		"tab":           "time [s]\tpressure [micron]\n0\t760,000\n1\t12,500\n2\t1,250\n",
		"full stops":    "time [s];pressure [micron]\n0;760.000\n1;12.500\n2;1.250\n3;987\n",
	} {
		t.Run(name, func(t *testing.T) {
			_, err := trace.Read(strings.NewReader(text), trace.Options{})
			require.ErrorIs(t, err, trace.ErrFormat)
			require.ErrorContains(t, err, " may be ")
			require.ErrorContains(t, err, "Options.DecimalMark")
			mark, other := '.', ','
			if name == "full stops" {
				mark, other = ',', '.'
			}
			log := read(t, text, trace.Options{DecimalMark: mark})
			require.InEpsilon(t, 1250*micron, float64(log.Pressures[2]), 1e-12)
			require.InEpsilon(t, 12500*micron, float64(log.Pressures[1]), 1e-12)
			require.InEpsilon(t, micron, float64(log.Format.Digit), 1e-12)
			if name != "twice" {
				log = read(t, text, trace.Options{DecimalMark: other})
				require.InEpsilon(t, 1.25*micron, float64(log.Pressures[2]), 1e-12)
			}
		})
	}
	_, err := trace.Read(strings.NewReader("t[s];p[micron]\n0;1,400\n1;905\n"), trace.Options{})
	require.ErrorContains(t, err, "1,400 may be 1400 or 1.4 in column \"p[micron]\"")
	_, err = trace.NewReader(strings.NewReader("x"), trace.Options{DecimalMark: ';'})
	require.ErrorIs(t, err, units.ErrOutOfRange)
}

// Three digits behind the mark are decimals where anything says so.
func TestThreeDecimals(t *testing.T) {
	for name, text := range map[string]string{
		"every number":    "t[s];p[Pa]\n0;1,250\n1;2,500\n",
		"nought in front": "t[s]\tp[Pa]\n0\t1,250\n1\t0,987\n",
		"two digits":      "t[s];p[Pa]\n0;1,250\n1;2,5\n2;3\n",
		"other column":    "t[s];p[Pa]\n0,5;1,250\n1,5;2\n",
		"plain thousands": "t[s];p[Pa]\n0;1,250\n1;2000\n",
		"sentinel":        "t[s];p[Pa]\n0;1,250\n1;-999\n",
		"comma separated": "t[s],p[Pa]\n0,1.250\n1,2\n",
	} {
		log := read(t, text, trace.Options{})
		require.Equal(t, units.Pressure(1.25), log.Pressures[0], name)
	}
}

// Where only the look of the first rows decided, what breaks it is an issue.
func TestThousandsAfterTheSample(t *testing.T) {
	var b strings.Builder
	b.WriteString("t[s];p[micron]\n")
	for i := range 9000 {
		fmt.Fprintf(&b, "%d;%d,%03d\n", i, 20-i/500, i%1000)
	}
	b.WriteString("9001;905\n")
	log := read(t, b.String(), trace.Options{})
	require.Equal(t, trace.Unreadable, log.States[9000])
	require.Equal(t, 9002, log.Issues[len(log.Issues)-1].Line)
}

// The whole of the first 64 KiB decides.
func TestDecidedLateInTheSample(t *testing.T) {
	var b strings.Builder
	b.WriteString("t[s];p[Pa]\n")
	for i := range 600 {
		fmt.Fprintf(&b, "%d;%d\n", i, 3000-i)
	}
	for i := range 1000 {
		fmt.Fprintf(&b, "%d;%d,0\n", 600+i, 2000-i)
	}
	log := read(t, b.String(), trace.Options{})
	require.True(t, log.Format.DecimalComma)
	require.Equal(t, 1600, log.Usable())
}

func TestDeclaredSeparator(t *testing.T) {
	for text, sep := range map[string]rune{
		"t[s]|p[Pa]\n0|1\n1|2\n":                   '|',
		"t[s],pressure; absolute [Pa]\n0,1\n1,2\n": ',',
		"t[s];p[Pa]\n0;1,5\n1;2,5\n":               ';',
	} {
		for _, c := range []struct {
			text string
			opts trace.Options
		}{
			{text, trace.Options{Separator: sep}},
			{"sep=" + string(sep) + "\n" + text, trace.Options{}},
			{"\ufeff\"sep=" + string(sep) + "\"\r\n" + text, trace.Options{}},
		} {
			log := read(t, c.text, c.opts)
			require.Equal(t, 2, log.Usable(), c.text)
			require.Equal(t, sep, log.Format.Separator)
			require.Empty(t, log.Issues)
		}
	}
	log := read(t, "sep=\t\nt[s]\tp[Pa]\n0\t1\n", trace.Options{})
	require.Equal(t, '\t', log.Format.Separator)
	_, err := trace.Read(strings.NewReader("sep=x\nt[s],p[Pa]\n0,1\n"), trace.Options{})
	require.ErrorContains(t, err, "accepted after sep=")
	_, err = trace.NewReader(strings.NewReader("x"), trace.Options{Separator: '0'})
	require.ErrorIs(t, err, units.ErrOutOfRange)
}

func TestWriteChecksEveryColumn(t *testing.T) {
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		var b bytes.Buffer
		log := trace.Log{Times: []float64{0, 1}, Pressures: []units.Pressure{1, 2}}
		log.Second = []units.Pressure{1, units.Pressure(v)}
		require.ErrorContains(t, trace.Write(&b, log), "line 2: second pressure")
		log.Second, log.Temperatures = nil, []units.Temperature{300, units.Temperature(v)}
		require.ErrorContains(t, trace.Write(&b, log), "line 2: temperature")
		log.Lines = []int{7, 9}
		require.ErrorContains(t, trace.Write(&b, log), "line 9: temperature")
		require.Zero(t, b.Len())
	}
}

func TestMostIssues(t *testing.T) {
	for _, n := range []int{999, 1000, 1001, 1500} {
		text := "t[s],p[Pa]\n0,1\n" + strings.Repeat("x,1\n", n)
		log := read(t, text, trace.Options{})
		require.Len(t, log.Issues, min(n, 1000))
		if n > 1000 {
			last := log.Issues[999]
			require.Equal(t, trace.MoreIssues, last.Kind)
			require.Contains(t, last.Text, fmt.Sprintf("%d further", n-999))
			require.Equal(t, n+2, last.Line)
		}
	}
}

// A wrong checksum is met after the rows, however short the text.
func TestGzipChecksum(t *testing.T) {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	_, err := z.Write([]byte("t[s],p[Pa]\n0,1\n1,2\n"))
	require.NoError(t, err)
	require.NoError(t, z.Close())
	b.Bytes()[b.Len()-8] ^= 1
	log, err := trace.Read(&b, trace.Options{})
	require.ErrorIs(t, err, gzip.ErrChecksum)
	require.ErrorIs(t, err, trace.ErrFormat)
	require.Equal(t, 2, log.Len())
}

// A late stamp around midnight is backward and adds no day.
func TestLateStampAtMidnight(t *testing.T) {
	log := read(t, "clock,p[Pa]\n23:59:58,1\n00:00:01,2\n23:59:59,3\n00:00:02,4\n", trace.Options{})
	require.Equal(t, []float64{0, 3, 1, 4}, log.Times)
	require.Equal(t, trace.Backward, log.States[2])
	require.Equal(t, trace.Good, log.States[3])
	require.Equal(t, 1, log.Count(trace.CrossedMidnight))
}

func TestClockInCallersLayout(t *testing.T) {
	log := read(t, "clock,p[Pa]\n11:59:58 PM,1\n12:00:01 AM,2\n12:00:03 AM,3\n", trace.Options{Layouts: []string{"3:04:05 PM"}})
	require.Equal(t, []float64{0, 3, 5}, log.Times)
	require.Equal(t, 3, log.Usable())
	require.True(t, log.Start.IsZero())
	require.Equal(t, "clock time", log.Format.Time)
}

// What is no reading beside the pressure is reported with line and column.
func TestOtherColumnsAreReported(t *testing.T) {
	log := read(t, "t[s],p[Pa],p2[mbar],T[°C]\n0,1,1,20\n1,2,,\n2,3,OL,OL\n3,4,-999,-999\n4,5,-1,-300\n", trace.Options{})
	require.Equal(t, 5, log.Usable())
	kinds := map[string]trace.Kind{}
	for _, is := range log.Issues {
		for _, name := range []string{"p2[mbar]", "T[°C]"} {
			if strings.Contains(is.Text, name) {
				kinds[fmt.Sprintf("%d %s", is.Line, name)] = is.Kind
			}
		}
	}
	require.Equal(t, map[string]trace.Kind{
		"3 p2[mbar]": trace.MissingReading, "3 T[°C]": trace.MissingReading,
		"4 p2[mbar]": trace.OverRangeReading, "4 T[°C]": trace.OverRangeReading,
		"5 p2[mbar]": trace.SentinelReading, "5 T[°C]": trace.SentinelReading,
		"6 p2[mbar]": trace.NegativePressure, "6 T[°C]": trace.UnreadableCell,
	}, kinds)
	require.Equal(t, []units.Pressure{100, -1, -1, -1, -1}, log.Second)
}

func TestJSONUnitChange(t *testing.T) {
	log := read(t, "{\"t[s]\":0,\"p[Pa]\":100}\n{\"t[s]\":1,\"p[mbar]\":1}\n{\"t[s]\":2}\n", trace.Options{})
	require.Equal(t, []trace.State{trace.Good, trace.Unreadable, trace.Missing}, log.States)
	require.Equal(t, trace.UnitConflict, log.Issues[0].Kind)
	require.Contains(t, log.Issues[0].Text, "p[mbar]")
	require.Equal(t, trace.MissingReading, log.Issues[1].Kind)
}

// The gauge is the column that is named like one.
func TestBarometerIsNoGauge(t *testing.T) {
	for header, p := range map[string]float64{
		"t [s],barometer [hPa],vacuum [micron]":    500 * micron,
		"t [s],ambient_pressure_hPa,vacuum_micron": 500 * micron,
		"t [s],site [hPa],pressure [micron]":       500 * micron,
	} {
		log := read(t, header+"\n0,1013,500\n1,1013,501\n", trace.Options{})
		require.InEpsilon(t, p, float64(log.Pressures[0]), 1e-12, header)
		require.Equal(t, 1, log.Count(trace.OtherColumn), header)
		require.Equal(t, 1, log.Issues[0].Line)
		require.Equal(t, !strings.Contains(header, "site"), len(log.Second) == 0)
	}
	log := read(t, "t [s],barometer [hPa]\n0,1013\n", trace.Options{})
	require.Equal(t, 1, log.Usable())
}
