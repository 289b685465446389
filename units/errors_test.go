package units

import (
	"errors"
	"fmt"
	"math"
	"testing"
)

func TestRangeErrorWording(t *testing.T) {
	inf, largest, tiny := math.Inf(1), math.MaxFloat64, math.SmallestNonzeroFloat64
	for _, c := range []struct {
		err  RangeError
		want string
	}{
		{
			RangeError{"moisture.SaturationPressure", "t", "K", 200, 273.15, 647.096},
			"moisture.SaturationPressure: t = 200 K, accepted 273.15 to 647.096 K",
		},
		{RangeError{"", "x", "", 2, 0, 1}, "x = 2, accepted 0 to 1"},
		{RangeError{"f", "p", "Pa", -1, 0, inf}, "f: p = -1 Pa, accepted at least 0 Pa"},
		{RangeError{"f", "p", "Pa", -1, 0, largest}, "f: p = -1 Pa, accepted at least 0 Pa"},
		{RangeError{"f", "p", "Pa", 9, -inf, 5}, "f: p = 9 Pa, accepted at most 5 Pa"},
		{RangeError{"f", "p", "Pa", inf, -largest, largest}, "f: p = +Inf Pa, accepted any finite value"},
		{RangeError{"f", "t", "K", 0, tiny, largest}, "f: t = 0 K, accepted above 0 K"},
		{RangeError{"f", "t", "K", 0, tiny, 9}, "f: t = 0 K, accepted above 0 to 9 K"},
		{RangeError{"f", "x", "", 1.0000000001, 0, 1}, "f: x = 1.0000000001, accepted 0 to 1"}, // 6 digits would read 1
	} {
		if got := c.err.Error(); got != c.want {
			t.Errorf("got  %s\nwant %s", got, c.want)
		}
	}
}

func TestCheckRangeIsInclusiveAndRefusesNaN(t *testing.T) {
	for _, c := range []struct {
		v  float64
		ok bool
	}{
		{1, true},
		{2, true},
		{1.5, true},
		{math.Nextafter(1, 0), false},
		{math.Nextafter(2, 3), false},
		{math.NaN(), false},
		{math.Inf(1), false},
		{math.Inf(-1), false},
		{math.SmallestNonzeroFloat64, false},
	} {
		err := CheckRange("f", "x", c.v, 1, 2, "Pa")
		if (err == nil) != c.ok {
			t.Errorf("%g: %v", c.v, err)
		}
		var re *RangeError
		if wrapped := fmt.Errorf("wrapped: %w", err); err != nil && (!errors.Is(wrapped, ErrOutOfRange) || !errors.As(wrapped, &re)) {
			t.Errorf("%g: %v is no RangeError", c.v, err)
		}
	}
}
