package main

import (
	"fmt"
	"strconv"
	"strings"

	"griptrial/analysis/clamp"
	"griptrial/analysis/unit"
)

// quantityOf reads the text of a flag that is a quantity, with the unit in which
// it was typed; the flag's name goes into the error.
func quantityOf(flag string, k unit.Kind, text string) (float64, unit.Unit, error) {
	v, u, err := unit.Parse(k, text)
	if err != nil {
		return 0, u, usageError{fmt.Errorf("--%s: %w", flag, err)}
	}
	return v, u, nil
}

// bandOf reads a flag that is a quantity or a range such as "4.9..5.1 kg"; the
// low end may carry its own unit. Empty text is zero, without a unit.
func bandOf(flag string, k unit.Kind, text string) (clamp.Band, unit.Unit, error) {
	if text == "" {
		return clamp.Band{}, unit.Unit{}, nil
	}
	low, high, ranged := strings.Cut(text, "..")
	if !ranged {
		v, u, err := quantityOf(flag, k, text)
		return clamp.Exactly(v), u, err
	}
	b := clamp.Band{}
	hi, u, err := unit.Parse(k, high)
	if err != nil {
		return b, u, usageError{fmt.Errorf("--%s: upper end: %w", flag, err)}
	}
	b.High = hi
	if v, err := strconv.ParseFloat(strings.TrimSpace(low), 64); err == nil {
		low = strconv.FormatFloat(v, 'g', -1, 64) + u.Name
	}
	if b.Low, _, err = unit.Parse(k, low); err != nil {
		return b, u, usageError{fmt.Errorf("--%s: lower end: %w", flag, err)}
	}
	return b, u, risen(flag, b)
}

// numberBandOf reads a flag that is a plain number or a range "0.10..0.20".
func numberBandOf(flag, text string) (clamp.Band, error) {
	low, high, ranged := strings.Cut(text, "..")
	if !ranged {
		high = low
	}
	var b clamp.Band
	for _, end := range []struct {
		text string
		to   *float64
	}{{low, &b.Low}, {high, &b.High}} {
		v, err := strconv.ParseFloat(strings.TrimSpace(end.text), 64)
		if err != nil {
			return b, usageError{fmt.Errorf("--%s %q: write a number such as 0.15 or a range such as 0.10..0.20", flag, text)}
		}
		*end.to = v
	}
	return b, risen(flag, b)
}

func risen(flag string, b clamp.Band) error {
	if b.High < b.Low {
		return usageError{fmt.Errorf("--%s: write the lower end of the range first", flag)}
	}
	return nil
}
