package bench

import (
	"bytes"
	"math"
	"strconv"
	"strings"

	"griptrial/acquire/table"
	"griptrial/analysis/slip"
)

// LoadSeen is the key of the time on the cell's clock at which a record saw the
// load begin.
const LoadSeen = "load seen [us]"

// takeUp goes on where a program that was stopped had left the pull that is
// next: what it had recorded of it is judged now. The person decides, for the
// record may end before the pull did. false: there is nothing to take up.
func (s *session) takeUp() bool {
	if s.tookUp || s.view.Typed {
		return false
	}
	s.tookUp = true
	text, err := s.c.Folder.Unfinished()
	if err != nil {
		s.say("%v", err)
	}
	if len(text) == 0 {
		return false
	}
	f, err := table.ReadTrace("recording", bytes.NewReader(text))
	if err != nil || len(f.Trace.T) < fewest {
		return false // it stays aside, as was said
	}
	meta := map[string]string{}
	for _, m := range f.Meta {
		meta[m.Key] = m.Value
	}
	p := s.view.Next
	began, err := strconv.ParseInt(meta[LoadSeen], 10, 64)
	if err != nil || meta["study"] != s.setup.Name || meta["order"] != strconv.Itoa(p.Order) || meta["facing"] != p.Facing || meta["sample"] != p.Sample || meta["level"] != p.Level {
		return false
	}
	s.records++
	s.record = &record{s: s, number: s.records, began: began, broken: "the program ended before this pull was judged"}
	s.record.text.Write(text)
	s.record.flush()
	s.stream = slip.NewStream(slip.Options{Capacity: s.full})
	side, most := 1.0, 0.0
	for i, t := range f.Trace.T {
		force := f.Trace.Force[i]
		s.stream.Push(t, force)
		if math.Abs(force) > most {
			side, most = math.Copysign(1, force), math.Abs(force)
		}
	}
	if s.c.Sampled != nil {
		for i, t := range f.Trace.T {
			s.c.Sampled(s.record.number, t-float64(began)/1e6, side*f.Trace.Force[i])
		}
	}
	s.say("%s was being pulled when the program ended; judge what was recorded of it, or call it void", strings.TrimSuffix(p.Facing+", sample "+p.Sample, ", sample "))
	s.judge()
	return true
}
