package bench

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"time"

	"griptrial/acquire/study"
	"griptrial/acquire/table"
	"griptrial/acquire/wire"
)

// record is the trace of the pull under way. Its text is what is written to the
// study and what is judged: one and the same.
type record struct {
	s       *session
	number  int // of the records begun in this session, from 1
	text    bytes.Buffer
	journal *study.Journal // nil: it could not be begun yet
	written int            // bytes of text in the journal
	failed  bool           // a write failed, and that was said

	began       int64 // us, when the load was first seen
	gone        int64 // us, when it had gone; 0: not yet
	slipSaid    bool
	last        wire.Sample
	samples     int
	lost        int64
	saturated   int
	most        float64 // N, without its sign
	stuck       int
	interrupted []string // what happened to the computer meanwhile
	broken      string   // why the record is incomplete; "": it is not
}

// newRecord begins a record with what a reader should know about it.
func newRecord(s *session) *record {
	s.records++
	r := &record{s: s, number: s.records}
	if n := len(s.recent.samples); n > 0 {
		r.began = s.recent.samples[n-1].T
	}
	p := s.view.Next
	c := s.c.Calibration
	meta := []table.Meta{
		{Key: "study", Value: s.setup.Name},
		{Key: "order", Value: strconv.Itoa(p.Order)},
		{Key: "facing", Value: p.Facing}, {Key: "sample", Value: p.Sample}, {Key: "level", Value: p.Level}, {Key: "block", Value: p.Block},
		{Key: "began", Value: s.c.Now().Format(time.RFC3339)},
		{Key: "set-up looked at", Value: s.checked.Format(time.RFC3339)},
		{Key: "device", Value: s.facts["name"]}, {Key: "device id", Value: s.facts["id"]}, {Key: "firmware", Value: s.facts["fw"]},
		{Key: "calibrated", Value: c.Date},
		{Key: LoadSeen, Value: strconv.FormatInt(r.began, 10)},
		{Key: "tare counts", Value: number(s.tare)}, {Key: "span counts per N", Value: number(s.span)},
	}
	var b []byte
	for _, m := range meta {
		if m.Value != "" {
			b = table.AppendMeta(b, m)
		}
	}
	b = append(b, "seq,t [us],counts,segment,force [N]\n"...)
	r.text.Write(b)
	r.flush()
	return r
}

// add takes the next sample.
func (r *record) add(x wire.Sample) {
	if r.samples > 0 && x.Segment == r.last.Segment {
		r.lost += x.Lost
	}
	r.samples++
	r.most = max(r.most, math.Abs(r.s.newtons(float64(x.Counts))))
	r.last = x
	if x.Saturated {
		r.saturated++
	}
	if x.Stuck {
		r.stuck++
	}
	b := r.text.AvailableBuffer()
	for _, n := range []int64{x.Seq, x.T, int64(x.Counts), int64(x.Segment)} {
		b = append(strconv.AppendInt(b, n, 10), ',')
	}
	b = strconv.AppendFloat(b, r.s.newtons(float64(x.Counts)), 'f', r.s.decimals(), 64)
	r.text.Write(append(b, '\n'))
	r.flush()
	if r.s.c.Sampled != nil {
		r.s.c.Sampled(r.number, float64(x.T-r.began)/1e6, r.s.starter.side*r.s.newtons(float64(x.Counts)))
	}
}

// decimals of a force in N that tell one count from the next, and two more.
func (s *session) decimals() int {
	return int(math.Max(0, min(12, math.Ceil(math.Log10(math.Abs(s.span)))+2)))
}

// flush hands what is new to the study. Where that fails the record goes on in
// memory, and saving tries again.
func (r *record) flush() {
	if err := r.tryFlush(); err != nil && !r.failed {
		r.failed = true
		r.s.say("the trace cannot be written (%v); it is kept in memory until the pull is saved", err)
	}
}

func (r *record) tryFlush() error {
	if r.journal == nil {
		j, err := r.s.c.Folder.Begin()
		if err != nil {
			return err
		}
		r.journal = j
	}
	for r.written < r.text.Len() {
		n, err := r.journal.Write(r.text.Bytes()[r.written:])
		r.written += n
		if err != nil {
			return err
		}
	}
	return nil
}

// drop gives the record up.
func (r *record) drop() error {
	if r.journal == nil {
		return nil
	}
	return r.journal.Drop()
}

// doubts says what is wrong with the record itself.
func (r *record) doubts() []string {
	var d []string
	if r.broken != "" {
		d = append(d, r.broken)
	}
	d = append(d, r.interrupted...)
	if r.lost > 2 {
		d = append(d, fmt.Sprintf("%d samples were lost on the way", r.lost))
	}
	if r.saturated > 0 {
		d = append(d, fmt.Sprintf("%d samples at the end of the converter's range: the force was greater than shown", r.saturated))
	}
	if text := r.overload(); text != "" {
		d = append(d, "the load went to "+text)
	}
	if r.stuck > 0 {
		d = append(d, "the reading stood still for 20 samples and more: is the cell wired?")
	}
	return d
}

func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
