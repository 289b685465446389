package trace_test

import (
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/trace"
)

const micron = float64(units.Micron)

func read(t *testing.T, text string, opts trace.Options) trace.Log {
	t.Helper()
	log, err := trace.Read(strings.NewReader(text), opts)
	require.NoError(t, err)
	return log
}

// wantRows compares times in s and pressures in Pa; the tolerance covers only
// the rounding of unit conversion.
func wantRows(t *testing.T, log trace.Log, times, pressures []float64) {
	t.Helper()
	require.Len(t, log.Times, len(times))
	for i := range times {
		require.InDelta(t, times[i], log.Times[i], 1e-9, "time of row %d", i)
		require.InDelta(t, pressures[i], float64(log.Pressures[i]), 1e-12*math.Abs(pressures[i]), "pressure of row %d", i)
	}
}

func TestReadDialects(t *testing.T) {
	amb := trace.Options{Ambient: 101325}
	for name, c := range map[string]struct {
		text      string
		opts      trace.Options
		times, pa []float64
	}{
		"comma and micron":      {text: "time [s],pressure [micron]\n0,500\n10,510\n", times: []float64{0, 10}, pa: []float64{500 * micron, 510 * micron}},
		"decimal comma, mark":   {text: "\ufefftime [s];pressure [Pa]\r\n0;38,663\r\n5;95,192\r\n", times: []float64{0, 5}, pa: []float64{38.663, 95.192}},
		"tab and minutes":       {text: "elapsed (min)\tp (mbar)\n0\t0.5\n1.5\t0.6\n", times: []float64{0, 90}, pa: []float64{50, 60}},
		"carriage returns":      {text: "t[s],p[Pa]\r0,1\r1,2\r", times: []float64{0, 1}, pa: []float64{1, 2}},
		"RFC 3339":              {text: "time,p[Pa]\n2026-06-18T23:59:50Z,1\n2026-06-19T00:00:10+00:00,2\n", times: []float64{0, 20}, pa: []float64{1, 2}},
		"lower case and blank":  {text: "time,p[Pa]\n2026-06-18 23:59:50z,1\n2026-06-19 00:00:10z,2\n", times: []float64{0, 20}, pa: []float64{1, 2}},
		"zone without colon":    {text: "time,p[Pa]\n2026-06-18T23:59:50+0100,1\n2026-06-19T00:00:10+0100,2\n", times: []float64{0, 20}, pa: []float64{1, 2}},
		"leap second, hour 24":  {text: "time,p[Pa]\n2016-12-31T23:59:60Z,1\n2016-12-31T24:00:05Z,2\n", times: []float64{0, 5}, pa: []float64{1, 2}},
		"day first, full stops": {text: "time;p[Pa]\n18.06.2026 23:59:50;1\n19.06.2026 00:00:10;2\n", times: []float64{0, 20}, pa: []float64{1, 2}},
		"caller's layout":       {text: "time,p[Pa]\n06/18/2026 10:00,1\n06/18/2026 10:01,2\n", opts: trace.Options{Layouts: []string{"01/02/2006 15:04"}}, times: []float64{0, 60}, pa: []float64{1, 2}},
		"date and time columns": {text: "Date,Time,p[Pa]\n2026-06-18,23:59:50,1\n2026-06-19,00:00:10,2\n", times: []float64{0, 20}, pa: []float64{1, 2}},
		"clock over midnight":   {text: "clock,p[Pa]\n23:59:50,1\n00:00:10,2\n", times: []float64{0, 20}, pa: []float64{1, 2}},
		"elapsed h:mm:ss":       {text: "elapsed,p[Pa]\n0:00:00,1\n1:00:00.5,2\n", times: []float64{0, 3600.5}, pa: []float64{1, 2}},
		"minutes and seconds":   {text: "elapsed [mm:ss],p[Pa]\n00:00,1\n90:30,2\n", times: []float64{0, 5430}, pa: []float64{1, 2}},
		"gauge":                 {text: "t[s],p[kPag]\n0,-100\n1,-99.5\n", opts: amb, times: []float64{0, 1}, pa: []float64{1325, 1825}},
		"depth of vacuum":       {text: "t[s],vacuum [inHg vac]\n0,0\n1,10\n", opts: amb, times: []float64{0, 1}, pa: []float64{101325, 101325 - 10*float64(units.InchHg)}},
		"unit in the cells":     {text: "t[s],pressure\n0,500 micron\n1,510 micron\n", times: []float64{0, 1}, pa: []float64{500 * micron, 510 * micron}},
		"unit from the caller":  {text: "t[s],pressure\n0,500\n1,510\n", opts: trace.Options{PressureUnit: "micron"}, times: []float64{0, 1}, pa: []float64{500 * micron, 510 * micron}},
		"no header":             {text: "0,500\n1,510\n", opts: trace.Options{PressureUnit: "micron", TimeUnit: "s"}, times: []float64{0, 1}, pa: []float64{500 * micron, 510 * micron}},
		"text before header":    {text: "Site: shed 4\nGauge: A\n\ntime_s,p_Pa\n0,1\n1,2\n", times: []float64{0, 1}, pa: []float64{1, 2}},
		"quotes":                {text: "\"time [s]\",\"p [Pa]\"\n\"0\",\"1,5\"\n\"1\",\"2,5\"\n", times: []float64{0, 1}, pa: []float64{1.5, 2.5}},
		"UCUM":                  {text: "t[s],p[um[Hg]]\n0,1000\n1,2000\n", times: []float64{0, 1}, pa: []float64{133.3220, 266.6440}},
		"JSON lines":            {text: "{\"t[s]\":0,\"p[Pa]\":1}\n{\"p[Pa]\":\"2 Pa\",\"t[s]\":5}\n", times: []float64{0, 5}, pa: []float64{1, 2}},
		"seconds not from zero": {text: "t[s],p[Pa]\n1e3,1\n1.001E3,2\n", times: []float64{0, 1}, pa: []float64{1, 2}},
	} {
		t.Run(name, func(t *testing.T) {
			log := read(t, c.text, c.opts)
			wantRows(t, log, c.times, c.pa)
			require.Equal(t, len(c.times), log.Usable(), "%v", log.Issues)
		})
	}
}

func TestReadErrors(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		opts trace.Options
		want []string
	}{
		"empty":              {"", trace.Options{Name: "a.csv"}, []string{"a.csv: empty"}},
		"blank":              {"\n \n", trace.Options{}, []string{"empty"}},
		"UTF-16":             {"\xff\xfet\x00", trace.Options{}, []string{"UTF-16"}},
		"binary":             {"time\x00", trace.Options{}, []string{"zero bytes"}},
		"no pressure unit":   {"time [s],pressure\n0,1\n", trace.Options{Name: "b.csv"}, []string{"b.csv:1:", "no unit", "micron", "psia"}},
		"no time unit":       {"time,pressure [Pa]\n0,1\n", trace.Options{}, []string{"log:2:", "time column has no unit", "h:mm:ss"}},
		"unknown unit":       {"time [s],pressure [furlong]\n0,1\n", trace.Options{}, []string{"unknown pressure unit \"furlong\"", "micron"}},
		"psi":                {"time [s],pressure [psi]\n0,1\n", trace.Options{}, []string{"ambiguous", "psia or psig"}},
		"inHg":               {"time [s],pressure [inHg]\n0,1\n", trace.Options{}, []string{"ambiguous", "inHg abs"}},
		"mb":                 {"time [s],pressure [mb]\n0,1\n", trace.Options{}, []string{"ambiguous", "mbar"}},
		"gauge, no ambient":  {"time [s],pressure [psig]\n0,1\n", trace.Options{}, []string{"ambient pressure"}},
		"nothing usable":     {"time [s],p[psig]\n0,-20\n1,-20\n", trace.Options{Ambient: units.Atmosphere}, []string{"no usable reading in 2 rows", "line 2", "negative pressure: -20 psig"}},
		"one cell more":      {"time [s],p[Pa]\n0,1,7\n1,2,7\n", trace.Options{}, []string{"header has 2 cells", "first row 3"}},
		"month first":        {"time,p[Pa]\n06/18/2026 10:00,1\n", trace.Options{}, []string{"not understood", "Options.Layouts"}},
		"comma and comma":    {"time [s],p [Pa]\n0,0,38,6\n5,0,95,1\n", trace.Options{}, []string{"twice as many cells", "semicolon"}},
		"both marks":         {"t [s];p [Pa]\n0;38,6\n5;95.1\n", trace.Options{}, []string{"decimal comma", "one mark"}},
		"no header":          {"0,1\n1,2\n", trace.Options{}, []string{"no header", "time [s],pressure [micron]"}},
		"header only":        {"time [s],pressure [Pa]\n", trace.Options{}, []string{"no complete row"}},
		"torn in first row":  {"time [s],pressure [Pa]\n0", trace.Options{}, []string{"no complete row"}},
		"unit changes":       {"t[s],p[micron]\n0,1\n1,2\nt[s],p[mbar]\n2,3\n", trace.Options{Name: "c.csv"}, []string{"c.csv:4:", "[micron]", "[mbar]"}},
		"bad JSON":           {"{\"t\": }\n", trace.Options{}, []string{"JSON"}},
		"temperature, no °C": {"t[s],p[Pa],temperature\n0,1,20\n", trace.Options{}, []string{"temperature", "°C"}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := trace.Read(strings.NewReader(c.text), c.opts)
			require.ErrorIs(t, err, trace.ErrFormat)
			for _, w := range c.want {
				require.ErrorContains(t, err, w)
			}
		})
	}
	_, err := trace.Read(strings.NewReader("time [s],pressure [psi]\n0,1\n"), trace.Options{})
	require.ErrorIs(t, err, units.ErrAmbiguous)
	_, err = trace.NewReader(strings.NewReader("x"), trace.Options{Ambient: -1})
	require.ErrorIs(t, err, units.ErrOutOfRange)
}

// Partial results survive: the rows before a change of unit stand.
func TestReadKeepsRowsBeforeError(t *testing.T) {
	log, err := trace.Read(strings.NewReader("t[s],p[micron]\n0,1\n1,2\nt[s],p[mbar]\n2,3\n"), trace.Options{})
	require.Error(t, err)
	require.Equal(t, 2, log.Len())
}

func TestReadIssues(t *testing.T) {
	text := "# written by hand\n" + // 1
		"t[s],p[micron]\n" + // 2
		"0,500\n" + // 3
		"1,OL\n" + // 4
		"2,----\n" + // 5
		"2,501\n" + // 6 repeated
		"1,502\n" + // 7 backward
		"3,\n" + // 8 blank
		"4,9999\n" + // 9 sentinel
		"5,-1\n" + // 10 negative
		"6,abc\n" + // 11
		"7,500 mbar\n" + // 12
		"8\n" + // 13 ragged
		"t[s],p[micron]\n" + // 14 header repeated
		"9,503\n" + // 15
		"10,504\n" + // 16
		"99,505\n" + // 17 gap
		"100,506" // 18 no line end
	log := read(t, text, trace.Options{})
	want := []struct {
		line int
		kind trace.Kind
	}{
		{1, trace.SkippedLine},
		{4, trace.OverRangeReading},
		{5, trace.OverRangeReading},
		{6, trace.RepeatedTime},
		{7, trace.BackwardTime},
		{8, trace.MissingReading},
		{9, trace.SentinelReading},
		{10, trace.NegativePressure},
		{11, trace.UnreadableCell},
		{12, trace.UnitConflict},
		{13, trace.RaggedRow},
		{14, trace.SkippedLine},
		{17, trace.TimeGap},
		{18, trace.NoLineEnd},
	}
	require.Len(t, log.Issues, len(want), "%v", log.Issues)
	for i, w := range want {
		require.Equal(t, w.line, log.Issues[i].Line, "%v", log.Issues[i])
		require.Equal(t, w.kind, log.Issues[i].Kind, "%v", log.Issues[i])
	}
	require.Equal(t, 5, log.Usable())
	require.Equal(t, trace.OverRange, log.States[1])
	require.Equal(t, 3, log.Line(0))
}

func TestTornEnd(t *testing.T) {
	log := read(t, "t[s],p[Pa]\n0,1\n1,2\n2", trace.Options{})
	require.Equal(t, 2, log.Len())
	require.Equal(t, 1, log.Count(trace.TornEnd))
}

// A last reading that lost digits is no reading: 238 became 2.
func TestTornReading(t *testing.T) {
	log := read(t, "t[s];p[micron]\n0;236\n1;237\n2;2", trace.Options{})
	require.Equal(t, 3, log.Len())
	require.Equal(t, 2, log.Usable())
	require.Equal(t, trace.Unreadable, log.States[2])
	require.Equal(t, 1, log.Count(trace.TornEnd))
	// A line that ends is taken at its word.
	log = read(t, "t[s];p[micron]\n0;236\n1;237\n2;2\n", trace.Options{})
	require.Equal(t, 3, log.Usable())
}

// The last digit written bounds what a log can show. 0.001 mbar is 0.1 Pa.
func TestDigit(t *testing.T) {
	for text, want := range map[string]float64{
		"t[s],p[micron]\n0,225\n1,225\n":      float64(units.Micron),
		"t[s],p[mbar]\n0,0.5\n1,0.512\n":      0.1,
		"t[s];p[Pa]\n0;22,50\n1;23\n":         0.01,
		"t[s],p[Pa]\n0,2.5e-3\n1,OL\n":        1e-4,
		"t[s],p\n0,5 mbar\n1,6 mbar\n":        100,
		"{\"t[s]\":0,\"p[Pa]\":1.5}\n":        0.1,
		"t[s],p[Pa]\n0,2\n1,3.00000\n2,7.1\n": 1e-5,
	} {
		log := read(t, text, trace.Options{})
		require.InEpsilon(t, want, float64(log.Format.Digit), 1e-9, text)
	}
}

// The message of a unit with two meanings says so once.
func TestAmbiguousOnce(t *testing.T) {
	_, err := trace.Read(strings.NewReader("t[s],p[psi]\n0,1\n"), trace.Options{})
	require.ErrorIs(t, err, units.ErrAmbiguous)
	require.Equal(t, 1, strings.Count(err.Error(), "ambiguous"))
}

// A gauge that passes 9999 on its way is read; one that jumps there is not.
func TestSentinelInPassing(t *testing.T) {
	log := read(t, "t[s],p[micron]\n0,9900\n1,9999\n2,10100\n3,500\n4,9999\n", trace.Options{})
	require.Equal(t, trace.Good, log.States[1])
	require.Equal(t, trace.Missing, log.States[4])
}

func TestStuck(t *testing.T) {
	text := "t[s],p[Pa]\n"
	for i := range 40 {
		text += string(rune('0'+i/10)) + string(rune('0'+i%10)) + ",7\n"
	}
	log := read(t, text, trace.Options{})
	require.Equal(t, 1, log.Count(trace.StuckReading))
	require.Equal(t, 2, log.Issues[0].Line)
}

func TestSecondGaugeAndTemperature(t *testing.T) {
	log := read(t, "t[s],p1[Pa],p2[mbar],T[°C]\n0,10,0.2,20\n1,11,,21\n2,12,0.3,x\n", trace.Options{})
	require.Equal(t, []units.Pressure{20, -1, 30}, log.Second)
	require.InDelta(t, 293.15, float64(log.Temperatures[0]), 1e-9)
	require.Equal(t, units.Temperature(0), log.Temperatures[2])
}

func TestGzip(t *testing.T) {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	_, err := z.Write([]byte("t[s],p[Pa]\n0,1\n1,2\n"))
	require.NoError(t, err)
	require.NoError(t, z.Close())
	whole := b.Bytes()
	log, err := trace.Read(bytes.NewReader(whole), trace.Options{})
	require.NoError(t, err)
	require.Equal(t, 2, log.Len())
	require.True(t, log.Format.Gzip)

	log, err = trace.Read(bytes.NewReader(whole[:len(whole)-6]), trace.Options{})
	require.ErrorIs(t, err, trace.ErrFormat)
	require.Equal(t, 2, log.Len(), "rows before the break stand")
}

// The streaming reader holds a window of the text, whatever its length.
func TestStreamingMemory(t *testing.T) {
	r, err := trace.NewReader(&endless{rows: 300_000}, trace.Options{})
	require.NoError(t, err)
	rows := 0
	allocs := testing.AllocsPerRun(1, func() {
		for {
			if _, err = r.Next(); err != nil {
				break
			}
			rows++
		}
	})
	require.ErrorIs(t, err, io.EOF)
	require.Equal(t, 300_000, rows)
	require.Less(t, allocs, 100.0, "allocations do not grow with the rows")
}

// endless writes rows of a log without holding them.
type endless struct{ row, rows int }

func (e *endless) Read(p []byte) (int, error) {
	b := p[:0]
	if e.row == 0 {
		b = append(b, "t[s],p[Pa]\n"...)
	}
	for ; e.row < e.rows && len(b)+24 < len(p); e.row++ {
		for d := 1_000_000; d > 0; d /= 10 {
			b = append(b, byte('0'+e.row/d%10))
		}
		b = append(b, ",12."...)
		b = append(b, byte('0'+e.row%10), '\n')
	}
	if len(b) == 0 {
		return 0, io.EOF
	}
	return len(b), nil
}

func TestWriteReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 30).Draw(t, "rows")
		log := trace.Log{}
		at := 0.0
		if rapid.Bool().Draw(t, "stamps") {
			log.Start = time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "start"), 0).UTC()
		}
		for range n {
			log.Times = append(log.Times, at)
			log.Pressures = append(log.Pressures, units.Pressure(rapid.Float64Range(0, 1e5).Draw(t, "p")))
			log.Second = append(log.Second, units.Pressure(rapid.Float64Range(0, 1e5).Draw(t, "p2")))
			log.Temperatures = append(log.Temperatures, units.Temperature(rapid.Float64Range(200, 400).Draw(t, "T")))
			at += float64(rapid.IntRange(1, 100).Draw(t, "step")) / 8
		}
		var b bytes.Buffer
		if err := trace.Write(&b, log); err != nil {
			t.Fatal(err)
		}
		got, err := trace.Read(&b, trace.Options{Sentinels: []float64{}})
		if err != nil {
			t.Fatal(err)
		}
		for i := range n {
			if got.Times[i] != log.Times[i] || got.Pressures[i] != log.Pressures[i] ||
				got.Second[i] != log.Second[i] || got.Temperatures[i] != log.Temperatures[i] {
				t.Fatalf("row %d: wrote %v %v, read %v %v", i, log.Times[i], log.Pressures[i], got.Times[i], got.Pressures[i])
			}
		}
	})
}

func TestWriteRefuses(t *testing.T) {
	var b bytes.Buffer
	require.Error(t, trace.Write(&b, trace.Log{Times: []float64{0}}))
	require.Error(t, trace.Write(&b, trace.Log{Times: []float64{0}, Pressures: []units.Pressure{units.Pressure(math.NaN())}}))
	require.Zero(t, b.Len())
}

// The invented records read without a single bad row.
func TestReadInventedRecords(t *testing.T) {
	files, err := filepath.Glob("../../testdata/traces/0*.csv")
	require.NoError(t, err)
	require.Len(t, files, 20)
	for _, f := range files {
		log, err := trace.ReadFile(f, trace.Options{})
		require.NoError(t, err)
		require.Equal(t, log.Len(), log.Usable(), "%s: %v", f, log.Issues)
	}
}

func TestReadFileMissing(t *testing.T) {
	_, err := trace.ReadFile("no-such-file.csv", trace.Options{})
	require.ErrorIs(t, err, os.ErrNotExist)
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("time [s],pressure [micron]\n0,500\n1,OL\n"), 0.0)
	f.Add([]byte("\ufefftime [s];p[Pa]\r\n0;38,6\r\n"), 0.0)
	f.Add([]byte("{\"t[s]\":0,\"p[Pa]\":1}\n{\"t[s]\":1}\n"), 0.0)
	f.Add([]byte("clock,p[psig]\n23:59:59,1\n0:00:00,\"2\n"), 1e5)
	f.Add([]byte("time,p[Pa],T[°F]\n2026-06-18T24:00:60Z,1e-400,−40\n"), 0.0)
	f.Fuzz(func(t *testing.T, text []byte, ambient float64) {
		log, err := trace.Read(bytes.NewReader(text), trace.Options{Ambient: units.Pressure(ambient)})
		if err != nil && !errors.Is(err, trace.ErrFormat) && !errors.Is(err, units.ErrOutOfRange) {
			t.Fatalf("error of no known kind: %v", err)
		}
		latest := -1.0
		for i, s := range log.States {
			if s != trace.Good {
				continue
			}
			if !(log.Times[i] > latest) || !(log.Pressures[i] >= 0) || math.IsInf(float64(log.Pressures[i]), 0) {
				t.Fatalf("row %d is good with time %v after %v and pressure %v", i, log.Times[i], latest, log.Pressures[i])
			}
			latest = log.Times[i]
		}
	})
}
