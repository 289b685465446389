package main

import (
	"context"
	"encoding/base64"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/purge"
	"example.com/drydown/units"
)

// The band's table is checked against the file with all runs: sorted there, its
// quantiles and counts are those of the report.
func TestBandTableAgreesWithTheRuns(t *testing.T) {
	p := runScenario(t)
	for _, c := range []struct{ file, name string }{{"band-1-one-deep-pull.csv", "one deep pull"}, {"band-2-triple-with-nitrogen.csv", "triple with nitrogen"}} {
		rows := readTable(t, filepath.Join(p.out, c.file))[1:]
		require.Len(t, rows, 200)
		var times, waters []float64
		met, completed := 0, 0
		for _, r := range rows {
			seconds, err := strconv.ParseFloat(r[2], 64)
			require.NoError(t, err)
			water, err := strconv.ParseFloat(r[3], 64)
			require.NoError(t, err)
			if r[1] == "completed" {
				completed++
				times = append(times, seconds)
				if water <= 30e-6*3.4 {
					met++
				}
			}
			waters = append(waters, water)
		}
		require.Equal(t, 200, completed)
		cells := []string{regexp.QuoteMeta(c.name), "200 of 200"}
		for _, at := range []int{10, 100, 190} { // of 200, from 1
			cells = append(cells, phrase.Took(time.Duration(nth(times, at)*1e9)))
		}
		for _, at := range []int{10, 100, 190} {
			cells = append(cells, regexp.QuoteMeta(phrase.Grams(units.Mass(nth(waters, at)))))
		}
		cells = append(cells, fmt.Sprintf("%d of 200", met))
		require.Regexp(t, strings.Join(cells, ` +`), p.stdout)
	}
	require.Contains(t, p.stdout, "200 runs of each procedure, with 7 poorly known inputs")
	require.Contains(t, p.stdout, "run 360 times: 40 rows for 7 inputs, N(k + 2) runs")
}

// nth is the n-th smallest, from 1.
func nth(values []float64, n int) float64 {
	for _, v := range values {
		below, same := 0, 0
		for _, w := range values {
			switch {
			case w < v:
				below++
			case w == v:
				same++
			}
		}
		if below < n && n <= below+same {
			return v
		}
	}
	return -1
}

func TestPlan(t *testing.T) {
	p := start(t, "-job", "../../testdata/jobs/sweep.json", "-band", "0", "-drivers", "0", "-plan")
	require.Equal(t, exitGood, p.code, p.stderr)
	require.NotRegexp(t, notNumbers, p.stdout)
	require.Contains(t, p.stdout, "The fastest plan found\n")
	require.Contains(t, p.stdout, "Wanted: at most ")
	require.Contains(t, p.stdout, "the same plan with")
	require.NotContains(t, p.stdout, "How far the answer is known", "-band 0")
	require.NotContains(t, p.stdout, "Which inputs drive it", "-drivers 0")

	p = start(t, "-job", "../../testdata/jobs/split.json", "-plan")
	require.Equal(t, exitInput, p.code)
	require.Contains(t, p.stderr, "state charge and dryness_limit")
	p = start(t, "-log", "../../testdata/traces/011.csv", "-volume", "2 L", "-temperature", "23.2 °C", "-leak-limit", "1 micron/min", "-plan")
	require.Equal(t, exitInput, p.code)
	require.Contains(t, p.stderr, "give -job as well")
}

// What is said of breaks follows the candidates' times.
func TestBreaksSentenceFollowsTheNumbers(t *testing.T) {
	candidate := func(breaks int, minutes float64, reached bool) purge.Candidate {
		return purge.Candidate{Choice: purge.Choice{Breaks: breaks}, Reached: reached, Took: time.Duration(minutes * float64(time.Minute))}
	}
	for _, c := range []struct {
		with    purge.Candidate
		without purge.Candidate
		want    string
	}{
		{candidate(1, 50, true), candidate(0, 40, true), "gain nothing here: 40.0 min without, 50.0 min with 1 break"},
		{candidate(2, 39.9, true), candidate(0, 40, true), "gain less than 1 %"},
		{candidate(2, 30, true), candidate(0, 40, true), "gain 25 % of the time here: 40.0 min without, 30.0 min with 2 breaks"},
		{candidate(2, 30, false), candidate(0, 40, true), "No candidate with breaks"},
		{candidate(2, 30, true), candidate(0, 40, false), "Without breaks no candidate"},
	} {
		require.Contains(t, breaksWords(&purge.Plan{ByBreaks: []purge.Candidate{c.without, c.with}}), c.want)
	}
	require.Equal(t, "25 % less", saved(30, 40))
	require.Equal(t, "50 % more", saved(60, 40))
	require.Equal(t, "the same within 1 %", saved(40.3, 40))
}

func TestSpreadsFile(t *testing.T) {
	wide := write(t, "spreads.json", `{"spreads": [{"input": "water in low spot", "kind": "lognormal", "low": 0.2, "high": 5}]}`)
	p := start(t, "-job", "../../testdata/jobs/split.json", "-band", "20", "-drivers", "0", "-spreads", wide)
	require.Equal(t, exitGood, p.code, p.stderr)
	report, err := os.ReadFile(filepath.Join(p.out, "report.md"))
	require.NoError(t, err)
	require.Contains(t, string(report), "| water in low spot | × 0.2 to × 5 (95 % of a lognormal) | as given |")
	require.Contains(t, string(report), "| all volumes | × 0.9 to × 1.1, uniform | common practice |")

	for text, want := range map[string]string{
		`{"spreads": [{"input": "water in attic", "kind": "uniform", "low": 0.2, "high": 5}]}`:  `no input "water in attic"`,
		`{"spreads": [{"input": "water in low spot", "kind": "uniform", "low": 5, "high": 2}]}`: "not below",
	} {
		p := start(t, "-job", "../../testdata/jobs/split.json", "-spreads", write(t, "bad.json", text))
		require.Equal(t, exitInput, p.code)
		require.Contains(t, p.stderr, want)
	}
	for _, args := range [][]string{{"-band", "1"}, {"-band", "-3"}, {"-drivers", "3"}} {
		p := start(t, args...)
		require.Equal(t, exitUsage, p.code)
		require.Contains(t, p.stderr, args[0])
	}
}

// Runs that do not come to their end are said in the report.
func TestBandSaysWhatWasNotCompleted(t *testing.T) {
	job := strings.Replace(minimalJob, `"until": "500 micron", "for": "15 min"`, `"until": "500 micron", "at_most": "16 min"`, 1)
	p := start(t, "-job", write(t, "job.json", job), "-band", "40", "-drivers", "0")
	require.Equal(t, exitGood, p.code, p.stderr)
	require.Regexp(t, `deep pull +\d+ of 40 `, p.stdout)
	require.Contains(t, p.stdout, "not completed")
	require.Regexp(t, `\d+ runs did not come to the end; they\s+count as\s+longer than any other: \d+ pressure\s+not\s+reached`, p.stdout)
}

// An interruption while a band is made keeps the runs that there are.
func TestInterruptedBand(t *testing.T) {
	q, err := (&inputs{job: "../../testdata/jobs/split.json", study: studyInputs{bandRuns: 2000}}).load()
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	p := newProgress(&cancelOn{"band of", cancel})
	p.every = 0
	a, err := q.answer(ctx, p)
	require.NoError(t, err)
	require.True(t, errors.Is(a.stopped, context.Canceled), "%v", a.stopped)
	require.Len(t, a.study.bands, 1)
	require.Less(t, a.study.bands[0].Made(), 2000)
	var b strings.Builder
	require.NoError(t, a.report(nil).text(&b))
	require.Contains(t, b.String(), "STOPPED EARLY")
	require.Regexp(t, `only \d+ of 2000 runs were made`, b.String())
	require.NotRegexp(t, notNumbers, b.String())
}

// cancelOn cancels as soon as a text is written.
type cancelOn struct {
	text   string
	cancel func()
}

func (c *cancelOn) Write(b []byte) (int, error) {
	if strings.Contains(string(b), c.text) {
		c.cancel()
	}
	return len(b), nil
}

// The shares of what holds the water back add up in every sample, and what they
// say of the time is what they show.
func TestLimitsAddUp(t *testing.T) {
	a := answerScenario(t)
	for _, r := range a.records() {
		l, ok := a.limits(r)
		require.True(t, ok)
		for i := range r.Samples {
			sum := 0.0
			for k := range l.of {
				require.GreaterOrEqual(t, l.of[k][i], 0.0)
				sum += l.of[k][i]
			}
			require.InDelta(t, 1, sum, 1e-9, "sample %d", i)
			if pumpRuns(r, &r.Samples[i]) {
				require.Zero(t, l.of[pumpOff][i])
			} else {
				require.Zero(t, l.of[byPump][i])
			}
		}
	}
	require.Regexp(t, `the largest part is taken by heat to the water for 9\d %`, a.limitWords(a.records()[0]), "ice in a deep pull waits for heat")
}

// The page needs nothing from outside, is well formed, and has every picture
// with its title, its words and its data.
func TestPageIsSelfContained(t *testing.T) {
	p := runScenario(t)
	page, err := os.ReadFile(filepath.Join(p.out, "report.html"))
	require.NoError(t, err)
	text := string(page)
	require.NotRegexp(t, notNumbers, regexp.MustCompile(`base64,[A-Za-z0-9+/=]+`).ReplaceAllString(text, ""))
	for _, from := range []string{`src=`, `@import`, `url(`, `<script`, `<link`} {
		require.NotContains(t, text, from)
	}
	for _, m := range regexp.MustCompile(`href="([^"]{1,30})`).FindAllStringSubmatch(text, -1) {
		require.Regexp(t, `^(#|data:text/csv;base64,)`, m[1])
	}
	require.Contains(t, text, "@media print")
	require.Contains(t, text, `<html lang="en">`)
	require.Equal(t, 7, strings.Count(text, "<figure>"))
	require.Equal(t, 7, strings.Count(text, `role="img"`))
	require.Equal(t, 7, strings.Count(text, "The picture in words"))
	ids := map[string]bool{}
	for _, m := range regexp.MustCompile(` id="([^"]+)"`).FindAllStringSubmatch(text, -1) {
		require.False(t, ids[m[1]], "%s twice", m[1])
		ids[m[1]] = true
	}
	for _, m := range regexp.MustCompile(`href="#([^"]+)"|aria-labelledby="([^"]+)"`).FindAllStringSubmatch(text, -1) {
		require.True(t, ids[m[1]+m[2]], "%v", m)
	}
	data := regexp.MustCompile(`download="([^"]+)" href="data:text/csv;base64,([^"]+)"`).FindAllStringSubmatch(text, -1)
	require.Len(t, data, 7)
	for _, m := range data {
		inside, err := base64.StdEncoding.DecodeString(m[2])
		require.NoError(t, err)
		beside, err := os.ReadFile(filepath.Join(p.out, m[1]))
		require.NoError(t, err)
		require.Equal(t, beside, inside)
	}
	d := xml.NewDecoder(strings.NewReader(text))
	d.Strict = true
	for {
		_, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
	}
}

// Both forms of the report say the same.
func TestPageSaysWhatTheMarkdownSays(t *testing.T) {
	d := &document{}
	d.title("A <b> & c")
	d.heading("First part")
	d.say("It takes 18 min & 3 %% of <it>.")
	d.list([]string{"one", "2 g"})
	d.table(&table{head: []string{"", "x"}, rows: [][]string{{"  y", "1 | 2"}}})
	var b strings.Builder
	require.NoError(t, d.html(&b))
	for _, want := range []string{
		"<title>A &lt;b&gt; &amp; c</title>", `<h2 id="first-part">First part</h2>`, "It takes 18\u00a0min &amp; 3\u00a0% of &lt;it&gt;.",
		"<li>2\u00a0g</li>", `<th scope="row">  y</th><td>1 | 2</td>`,
	} {
		require.Contains(t, b.String(), want)
	}
}
