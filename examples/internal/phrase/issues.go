package phrase

import (
	"fmt"
	"strings"

	"example.com/drydown/vacuum/trace"
)

// Issues groups the oddities of a log by kind, in order of first appearance,
// each with its lines in ranges, at most most of them (0 for all), and, where
// there is one, what its first line says.
func Issues(log *trace.Log, most int) []string {
	var kinds []trace.Kind
	lines := map[trace.Kind][]int{}
	first := map[trace.Kind]string{}
	for _, i := range log.Issues {
		if lines[i.Kind] == nil {
			kinds = append(kinds, i.Kind)
			first[i.Kind] = i.Text
		}
		lines[i.Kind] = append(lines[i.Kind], i.Line)
	}
	out := make([]string, len(kinds))
	for n, k := range kinds {
		out[n] = fmt.Sprintf("%s, %s", k, ranges(lines[k], most))
		if text := strings.TrimSuffix(first[k], "."); text != "" && text != k.String() {
			about := text
			if len(lines[k]) > 1 {
				about = "the first: " + text
			}
			out[n] += " (" + about + ")"
		}
	}
	return out
}

// ranges words line numbers, runs of them as "line 3 to 7".
func ranges(lines []int, most int) string {
	var parts []string
	for i := 0; i < len(lines); {
		j := i
		for j+1 < len(lines) && lines[j+1] <= lines[j]+1 {
			j++
		}
		if lines[j] == lines[i] {
			parts = append(parts, fmt.Sprint(lines[i]))
		} else {
			parts = append(parts, fmt.Sprintf("%d to %d", lines[i], lines[j]))
		}
		i = j + 1
	}
	word := "line "
	if len(lines) > 1 {
		word = "lines "
	}
	if most > 0 && len(parts) > most {
		return word + strings.Join(parts[:most], ", ") + fmt.Sprintf(" and %d more places", len(parts)-most)
	}
	return word + Listed(parts)
}

// Few is at most n of the sentences, and how many there are besides.
func Few(all []string, n int) []string {
	if len(all) <= n {
		return all
	}
	return append(append([]string(nil), all[:n]...), fmt.Sprintf("and %s more, all of them in report.md", Plural(len(all)-n, "kind")))
}
