package table

import (
	"errors"
	"math"
	"math/bits"
	"strconv"
)

// pow10 holds the powers of ten that a float64 carries exactly.
var pow10 = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

var pow10int = [16]uint64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8}

// zeros are eight characters '0'.
const zeros = 0x3030303030303030

// digitRun counts the digits at the start (the low end) of eight characters
// from which zeros was taken by exclusive or.
func digitRun(x uint64) uint {
	const low7 = 0x7f7f7f7f7f7f7f7f
	other := (x&low7 + 0x7676767676767676 | x) &^ low7 // high bit of each byte above 9
	return uint(bits.TrailingZeros64(other)) >> 3
}

// eightDigits is the number that eight digits make, the first in the lowest
// byte. Pairs, then fours, then all are joined by one multiplication each.
func eightDigits(x uint64) uint64 {
	const pairs = 0x000000ff000000ff
	x = x*10 + x>>8
	return (x&pairs*(100+1000000<<32) + x>>16&pairs*(1+10000<<32)) >> 32
}

// exactInt is the greatest mantissa that a float64 carries exactly, with all
// below it.
const exactInt = 1 << 53

// parseNumber reads a decimal number, correctly rounded: the same bits as
// strconv.ParseFloat gives. comma allows a decimal comma beside the point.
//
// Plain decimals with a mantissa up to 2^53 take the short way: mantissa and
// power of ten are then both exact, so that one division rounds once (Clinger,
// How to read floating point numbers accurately, 1990). The rest goes to
// strconv.
func parseNumber(b []byte, comma bool) (float64, error) {
	i, neg := 0, false
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		neg, i = b[0] == '-', 1
	}
	var mantissa uint64
	digits, frac, mark, plain := 0, 0, -1, true
loop:
	for ; i < len(b); i++ {
		switch c := b[i]; {
		case c >= '0' && c <= '9':
			mantissa = mantissa*10 + uint64(c-'0')
			if digits++; mark >= 0 {
				frac++
			}
		case mark < 0 && (c == '.' || comma && c == ','):
			mark = i
		default:
			plain = false
			break loop
		}
	}
	if digits == 0 {
		return 0, notNumber(b)
	}
	if plain && digits <= 19 && mantissa <= exactInt {
		v := float64(mantissa) / pow10[frac]
		if neg {
			v = -v
		}
		return v, nil
	}
	if !plain && !isExponent(b[i:]) {
		return 0, notNumber(b)
	}
	text := string(b)
	if mark >= 0 && b[mark] == ',' {
		text = text[:mark] + "." + text[mark+1:]
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return 0, errors.New(quote(b) + " is too large")
	}
	return v, nil
}

// isExponent reports whether b is all of an exponent such as e-05.
func isExponent(b []byte) bool {
	if len(b) < 2 || b[0] != 'e' && b[0] != 'E' {
		return false
	}
	b = b[1:]
	if b[0] == '-' || b[0] == '+' {
		b = b[1:]
	}
	for _, c := range b {
		if c < '0' || c > '9' {
			return false
		}
	}
	return len(b) > 0
}

func notNumber(b []byte) error {
	if len(b) == 0 {
		return errors.New("empty; a number is needed")
	}
	if v, err := strconv.ParseFloat(string(b), 64); err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
		return errors.New(quote(b) + " is not a finite number")
	}
	return errors.New(quote(b) + " is not a number")
}

// quote shows a field in a message, cut where it is long.
func quote(b []byte) string {
	const most = 40
	if len(b) > most {
		return strconv.Quote(string(b[:most])) + "..."
	}
	return strconv.Quote(string(b))
}
