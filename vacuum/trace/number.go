package trace

import (
	"bytes"
	"math"
	"strconv"
)

// pow10 are the powers of ten that a float64 holds exactly.
var pow10 = [...]float64{
	1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// parseNumber reads a plain decimal number. It refuses what strconv.ParseFloat
// would take beyond that: inf, nan, hexadecimal, underscores; and a number so
// small or large that it would become zero or infinite.
func parseNumber(b []byte, comma bool) (float64, bool) {
	if v, ok := parseShort(b, comma); ok {
		return v, true
	}
	return parseLong(b, comma)
}

// parseShort reads [-+]digits[.digits] with at most 15 digits; then mantissa
// and power of ten are both exact and one division rounds correctly.
func parseShort(b []byte, comma bool) (float64, bool) {
	mark := byte('.')
	if comma {
		mark = ','
	}
	negative := false
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		negative, b = b[0] == '-', b[1:]
	}
	if len(b) == 0 || len(b) > 16 {
		return 0, false
	}
	var mantissa int64
	at := -1 // of the mark
	for i, c := range b {
		if d := c - '0'; d <= 9 {
			mantissa = mantissa*10 + int64(d)
		} else if c == mark && at < 0 {
			at = i
		} else {
			return 0, false
		}
	}
	digits := len(b)
	v := float64(mantissa)
	if at >= 0 {
		digits--
		v /= pow10[digits-at]
	}
	if digits == 0 || digits > 15 {
		return 0, false
	}
	if negative {
		v = -v
	}
	return v, true
}

var unicodeMinus = []byte("−")

func parseLong(b []byte, comma bool) (float64, bool) {
	b = bytes.TrimSpace(b)
	text := make([]byte, 0, 32)
	if bytes.HasPrefix(b, unicodeMinus) {
		text = append(text, '-')
		b = b[len(unicodeMinus):]
	}
	nonzero, exponent := false, false
	for i, c := range b {
		switch {
		case c >= '0' && c <= '9':
			nonzero = nonzero || (c != '0' && !exponent)
		case comma && c == ',':
			c = '.'
		case !comma && c == '.':
		case c == 'e' || c == 'E':
			exponent = true
		case c == '+' || c == '-':
			if i > 0 && b[i-1] != 'e' && b[i-1] != 'E' {
				return 0, false
			}
		default:
			return 0, false
		}
		text = append(text, c)
	}
	v, err := strconv.ParseFloat(string(text), 64)
	if err != nil || (v == 0 && nonzero) {
		return 0, false
	}
	return v, true
}

// number reads a cell. Where the decimal mark is declared, the other mark may
// stand between thousands.
func (l *layout) number(b []byte) (float64, bool) {
	v, ok := parseNumber(b, l.comma)
	if !ok && l.group != 0 {
		if plain, grouped := ungroup(b, l.group); grouped {
			return parseNumber(plain, l.comma)
		}
	}
	return v, ok
}

// ungroup takes the marks out of a number such as 1,250 or -12,500,000.25: one to
// three digits, then groups of three.
func ungroup(b []byte, mark byte) (plain []byte, ok bool) {
	sign := len(b) - len(bytes.TrimLeft(b, "+-"))
	end := sign
	for end < len(b) && (b[end] == mark || b[end] >= '0' && b[end] <= '9') {
		end++
	}
	groups := bytes.Split(b[sign:end], []byte{mark})
	if len(groups) < 2 || len(groups[0]) == 0 || len(groups[0]) > 3 {
		return nil, false
	}
	for _, g := range groups[1:] {
		if len(g) != 3 {
			return nil, false
		}
	}
	plain = append(plain, b[:sign]...)
	plain = append(plain, bytes.Join(groups, nil)...)
	return append(plain, b[end:]...), true
}

// placeValue is the place value of the last digit of a number that parseNumber
// reads: 1 for 225, 0.01 for 2.25, 0.1 for 22.5e0.
func placeValue(b []byte, comma bool) float64 {
	mark := byte('.')
	if comma {
		mark = ','
	}
	exponent := 0
	if i := bytes.IndexAny(b, "eE"); i >= 0 {
		exponent, _ = strconv.Atoi(string(b[i+1:])) // parseNumber has read it
		b = b[:i]
	}
	if i := bytes.IndexByte(b, mark); i >= 0 {
		exponent -= len(b) - i - 1
	}
	return math.Pow(10, float64(exponent))
}

// parseState recognises the words that gauges write instead of a number.
func parseState(b []byte) (State, bool) {
	if len(b) == 0 {
		return Missing, true
	}
	if len(bytes.Trim(b, "-")) == 0 && len(b) >= 2 || len(bytes.Trim(b, "*")) == 0 {
		return OverRange, true
	}
	if len(b) > 16 {
		return Unreadable, false
	}
	switch string(bytes.ToLower(b)) {
	case "ol", "o.l", "o.l.", "+ol", "ofl", "over", "overrange", "over-range", "over range", "overload", "hi", "high":
		return OverRange, true
	case "ul", "u.l", "lo", "low", "under", "underrange", "under-range", "under range", "-ol":
		return UnderRange, true
	case "-", "na", "n/a", "nan", "null", "none", "err", "error", "fault":
		return Missing, true
	}
	return Unreadable, false
}

// splitUnit separates "367 micron" into number and unit.
func splitUnit(b []byte) (number []byte, unit string) {
	i := len(b)
	for j, c := range b {
		if c >= '0' && c <= '9' || c == '.' || c == ',' || c == '-' || c == '+' {
			continue
		}
		if (c == 'e' || c == 'E') && j+1 < len(b) && (b[j+1] == '-' || b[j+1] == '+' || b[j+1] >= '0' && b[j+1] <= '9') {
			continue
		}
		i = j
		break
	}
	return bytes.TrimSpace(b[:i]), string(bytes.TrimSpace(b[i:]))
}
