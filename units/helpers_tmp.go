package units

import "strconv"
import "fmt"
import "math"

func shortFloat(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }

func acceptedBounds(lo, hi float64) string {
	switch {
	case math.IsInf(hi, 1):
		return "at least " + shortFloat(lo)
	case math.IsInf(lo, -1):
		return "at most " + shortFloat(hi)
	}
	return fmt.Sprintf("%s to %s", shortFloat(lo), shortFloat(hi))
}
