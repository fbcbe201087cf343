package table

import (
	"math"
	"strconv"
	"strings"

	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// AppendMeta appends the comment line "# key: value". Line ends in either
// become blanks.
func AppendMeta(dst []byte, m Meta) []byte {
	dst = append(dst, "# "...)
	if m.Key != "" {
		dst = append(append(dst, oneLine(m.Key)...), ": "...)
	}
	return append(append(dst, oneLine(m.Value)...), '\n')
}

func oneLine(s string) string {
	return strings.TrimSpace(strings.NewReplacer("\r\n", " ", "\n", " ", "\r", " ").Replace(s))
}

// AppendRecord appends fields as one row with commas between them. A field that
// would be read otherwise than it stands is quoted.
func AppendRecord(dst []byte, fields ...string) []byte {
	for i, f := range fields {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = appendField(dst, f, i == 0)
	}
	return append(dst, '\n')
}

func appendField(dst []byte, s string, first bool) []byte {
	plain := !strings.ContainsAny(s, ",;\t\"\r\n") && strings.TrimSpace(s) == s &&
		!(first && (s == "" || s[0] == '#'))
	if plain {
		return append(dst, s...)
	}
	dst = append(dst, '"')
	dst = append(dst, strings.ReplaceAll(s, `"`, `""`)...)
	return append(dst, '"')
}

// ReadingColumns names the columns that AppendReading fills, with forces in
// the given unit and handle weights in kg.
func ReadingColumns(force unit.Unit) []string {
	in := " [" + force.Name + "]"
	return []string{"pull", "facing", "force" + in, "outcome", "clamp" + in, "division" + in,
		"low" + in, "high" + in, "block", "sample", "level", "weight [kg]", "order", "clampings", "note"}
}

// AppendReading appends one row that ReadReadings reads back as the same
// reading (but for Study). What is not known is left empty.
func AppendReading(dst []byte, r trial.Reading, force unit.Unit) []byte {
	return AppendRecord(dst, ReadingFields(r, force)...)
}

// ReadingFields are the texts of a reading in the order of ReadingColumns.
func ReadingFields(r trial.Reading, force unit.Unit) []string {
	optional := func(v float64) string {
		if v == 0 {
			return ""
		}
		return Number(v, force)
	}
	count := func(c trial.Count) string {
		if !c.Known {
			return ""
		}
		return strconv.Itoa(c.N)
	}
	pull, weight, value := "", "", Number(r.Force, force)
	if r.Pull > 0 {
		pull = strconv.Itoa(r.Pull)
	}
	if r.Weight != 0 {
		weight = strconv.FormatFloat(r.Weight, 'f', -1, 64)
	}
	if r.Outcome == trial.Void && r.Force == 0 {
		value = ""
	}
	return []string{pull, r.Facing, value, r.Outcome.String(), optional(r.Clamp), optional(r.Division),
		optional(r.Low), optional(r.High), r.Block, r.Sample, r.Level, weight, count(r.Order), count(r.Clampings), r.Note}
}

// Number writes an SI value in u by the fewest digits that read back as the
// same SI value, so that 98.0665 N in kgf is 10 again. Where no decimal does,
// it takes the digits that come nearest.
func Number(si float64, u unit.Unit) string {
	v := newQuantity(u).fromSI(si)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	for digits := 1; digits < 17; digits++ {
		text := strconv.FormatFloat(v, 'g', digits, 64)
		if back, err := strconv.ParseFloat(text, 64); err == nil && newQuantity(u).toSI(back) == si {
			return plainDecimal(back)
		}
	}
	return plainDecimal(v)
}

// plainDecimal writes v without an exponent.
func plainDecimal(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// AppendSample appends one row of a device trace: seq,t [us],counts,segment.
func AppendSample(dst []byte, seq, micros, counts, segment int64) []byte {
	dst = append(strconv.AppendInt(dst, seq, 10), ',')
	dst = append(strconv.AppendInt(dst, micros, 10), ',')
	dst = append(strconv.AppendInt(dst, counts, 10), ',')
	return append(strconv.AppendInt(dst, segment, 10), '\n')
}

// SampleHeader is the header row over rows of AppendSample.
const SampleHeader = "seq,t [us],counts,segment\n"
