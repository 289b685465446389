package units

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// maxText is the longest text read, in bytes.
const maxText = 200

// splitNumber cuts text into a decimal number and what follows it. Only digits,
// a decimal point and a decimal exponent are read: no infinities, hexadecimal
// numbers or digit separators.
func splitNumber(text string) (number, rest string, err error) {
	s := strings.TrimSpace(text)
	switch {
	case s == "":
		return "", "", errors.New("the text is empty")
	case len(s) > maxText:
		return "", "", fmt.Errorf("longer than %d bytes", maxText)
	}
	if after, found := strings.CutPrefix(s, "−"); found { // U+2212, the typographic minus
		s = "-" + after
	}
	i := 0
	if s[0] == '+' || s[0] == '-' {
		i++
	}
	start := i
	i = skipDigits(s, i)
	digits := i - start
	if i < len(s) && s[i] == '.' {
		end := skipDigits(s, i+1)
		digits += end - i - 1
		i = end
	}
	if digits == 0 {
		return "", "", errors.New("it does not start with a number")
	}
	i = skipExponent(s, i)
	return s[:i], strings.TrimSpace(s[i:]), nil
}

func skipDigits(s string, i int) int {
	for i < len(s) && '0' <= s[i] && s[i] <= '9' {
		i++
	}
	return i
}

// skipExponent returns the end of a decimal exponent at i, or i if there is none.
func skipExponent(s string, i int) int {
	if i >= len(s) || s[i] != 'e' && s[i] != 'E' {
		return i
	}
	j := i + 1
	if j < len(s) && (s[j] == '+' || s[j] == '-') {
		j++
	}
	if end := skipDigits(s, j); end > j {
		return end
	}
	return i
}

// shiftPoint returns the decimal number times a power of ten, digits unchanged.
func shiftPoint(number string, power int) string {
	if power == 0 {
		return number
	}
	mantissa, exponent, _ := strings.Cut(strings.ToLower(number), "e")
	e, err := strconv.Atoi(exponent)
	if err != nil && exponent != "" { // beyond any float64, with or without the shift
		return number
	}
	return mantissa + "e" + strconv.Itoa(e+power)
}

// isZero reports whether every digit of the mantissa of number is 0.
func isZero(number string) bool {
	mantissa, _, _ := strings.Cut(strings.ToLower(number), "e")
	return !strings.ContainsAny(mantissa, "123456789")
}
