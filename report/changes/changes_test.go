package changes

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis"
	"griptrial/report"
	"griptrial/report/internal/example"
	"griptrial/report/internal/golden"
)

// side is the example as one of the two; its ratios get intervals of their own.
func side(name string) Side {
	s := Side{Name: name, In: example.Input(), Ledger: true, Settings: []Setting{{"handle.arm", "150 mm"}, {"name", "blanks"}},
		Calibration: &Calibration{File: "2026-03-14.csv", SHA256: strings.Repeat("8f14", 16), Span: 13500}}
	for i := range s.In.Results.AgainstControl {
		r := &s.In.Results.AgainstControl[i]
		r.Single = analysis.Single{Lower: r.Ratio / 1.1, Upper: r.Ratio * 1.1, P: 1e-9, DF: 40}
	}
	start := time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)
	for i, p := range s.In.Results.Pulls {
		r := Row{Row: i + 1, Pull: p.Pull, Facing: p.Facing, Sample: p.Sample, Level: p.Level, Outcome: p.Outcome, Force: float64(p.Force), Time: start.Add(time.Duration(i) * time.Minute)}
		s.History, s.Current = append(s.History, r), append(s.Current, r)
	}
	return s
}

// another is a trial of its own: another day, and one facing that grips 1.5
// times as well.
func another(name string) Side {
	s := side(name)
	for i := range s.Current {
		s.Current[i].Time = s.Current[i].Time.AddDate(0, 8, 0)
		s.History[i].Time = s.Current[i].Time
	}
	r := &s.In.Results.AgainstControl[0]
	for _, n := range []*analysis.Number{&r.Ratio, &r.Lower, &r.Upper, &r.Single.Lower, &r.Single.Upper} {
		*n *= 1.5
	}
	s.In.Made = s.In.Made.AddDate(0, 8, 0)
	s.Settings = []Setting{{"handle.arm", "160 mm"}, {"handle.tilt", "5deg"}}
	s.Calibration = &Calibration{File: "2026-11-14.csv", SHA256: strings.Repeat("c9f0", 16), Span: 13566}
	return s
}

// later is the same study after a few more rows.
func later(name string) Side {
	s := side(name)
	last := s.Current[len(s.Current)-1]
	add := func(r Row) {
		r.Row, r.Time = len(s.History)+1, last.Time.Add(time.Hour)
		s.History = append(s.History, r)
	}
	stand := s.Current[:0:0]
	for _, r := range s.Current {
		switch r.Pull {
		case 3: // voided
			r.Outcome, r.Reason = "void", "the tie let go"
			add(r)
		case 4: // corrected
			r.Force *= 2
			r.Reason = "misread"
			add(r)
		case 7: // withdrawn
			r.Outcome, r.Reason = "void", "undone"
			add(r)
			continue
		}
		stand = append(stand, r)
	}
	more := last
	more.Pull++
	add(more)
	s.Current = append(stand, more)
	return s
}

// TestTrials: the change of a ratio is a ratio of ratios, with an interval by
// the two trials' own intervals: half width on the log scale √2·ln 1.1·t'/t for
// equal trials of 40 degrees of freedom, where t is Student's for 40 and t' for
// 80 degrees of freedom at one third of 5 %; t values from R 4.2.2's qt.
func TestTrials(t *testing.T) {
	c := Between(side("old"), another("new"))
	assert.False(t, c.SameStudy)
	require.Len(t, c.Ratios, 3)
	half := math.Sqrt2 * math.Log(1.1) * 2.445361 / 2.021075
	assert.InDelta(t, 1.5, float64(c.Ratios[0].Change.Estimate), 1e-12)
	assert.InDelta(t, 1.5*math.Exp(-half), float64(c.Ratios[0].Change.Lower), 1e-5)
	assert.InDelta(t, 1.5*math.Exp(half), float64(c.Ratios[0].Change.Upper), 1e-5)
	assert.Equal(t, "bonferroni", c.Ratios[0].Adjusted)
	assert.Equal(t, []string{"more than chance, higher", "within chance", "within chance"}, []string{judge(c.Ratios[0]), judge(c.Ratios[1]), judge(c.Ratios[2])})
	assert.Equal(t, []SettingChange{{"handle.arm", "150 mm", "160 mm"}, {"handle.tilt", "", "5deg"}, {"name", "blanks", ""}}, c.Settings)
	assert.Contains(t, c.Calibration.New, "2026-11-14.csv, 13566 counts a newton")
	assert.Equal(t, "Two trials; bonded P240 abrasive cloth holds best in both.", c.Headline())
	assert.Empty(t, c.Pulls.Added)

	b, err := json.Marshal(c)
	require.NoError(t, err)
	assert.NotContains(t, string(b), "null,null,null")
	golden.Equal(t, "trials.html", html(t, c))
}

// TestHeadline: a facing that holds best now may be new, or those before it may
// have changed; each is said, and neither where chance explains it.
func TestHeadline(t *testing.T) {
	cloth, sheet := "P240 cloth", "polyurethane sheet"
	estimate := func(lower, upper analysis.Number) analysis.Estimate {
		return analysis.Estimate{Estimate: 1, Lower: lower, Upper: upper}
	}
	same, less, more, unknown := estimate(0.9, 1.1), estimate(0.5, 0.9), estimate(1.1, 1.5), estimate(analysis.Unknown(), analysis.Unknown())
	two := map[string]bool{cloth: true, sheet: true}
	one := map[string]bool{cloth: true}
	for _, c := range []struct {
		old, new    string
		was, stayed map[string]bool
		cloth       analysis.Estimate
		sheet       analysis.Estimate
		says        string
	}{
		{cloth, sheet, one, two, same, unknown, "polyurethane sheet is new here and holds best; P240 cloth has not changed beyond chance."},
		{cloth, sheet, one, two, less, unknown, "polyurethane sheet is new here and holds best; P240 cloth holds less than it did, beyond chance."},
		{cloth, sheet, one, two, unknown, unknown, "polyurethane sheet is new here and holds best."},
		{cloth, sheet, two, two, same, same, "P240 cloth held best, and now polyurethane sheet does; neither has changed beyond chance."},
		{cloth, sheet, two, two, less, more, "P240 cloth held best, and now polyurethane sheet does; P240 cloth holds less than it did, beyond chance; polyurethane sheet holds more than it did, beyond chance."},
		{sheet, cloth, two, one, same, unknown, "polyurethane sheet held best and was not pulled again; now P240 cloth holds best; P240 cloth has not changed beyond chance."},
		{"", sheet, one, two, same, unknown, "no facing stood out, and now polyurethane sheet does, which is new here."},
		{"", sheet, two, two, same, same, "no facing stood out, and now polyurethane sheet does."},
		{cloth, "", two, two, less, same, "P240 cloth held best, and now no facing stands out; P240 cloth holds less than it did, beyond chance."},
	} {
		got := Change{Old: Summary{Best: c.old}, New: Summary{Best: c.new}, was: c.was, stayed: c.stayed,
			Ratios: []analysis.RatioChange{{Facing: cloth, Change: c.cloth}, {Facing: sheet, Change: c.sheet}}}
		assert.Equal(t, "Two trials; "+c.says, got.Headline())
	}
}

// TestSetup: what one side alone describes is a row a table.
func TestSetup(t *testing.T) {
	c := Change{Settings: []SettingChange{
		{"cut 1.depth", "1 mm", ""}, {"cut 1.width", "4 mm", ""},
		{`facing "P240 cloth".name`, "", "P240 cloth"}, {`facing "P240 cloth".samples`, "", "[1 2]"}, {`facing "wood".name`, "", "wood"}, {"format", "", "1"},
		{"pull.arm", "100 mm", ""}, {"pull.how", "twist", "straight"}, {"pull.patch", "", "circle"}, {"unit", "N", "kgf"},
	}}
	assert.Equal(t, [][]string{
		{"cut 1", "depth 1 mm, width 4 mm", "not set"},
		{`facing "P240 cloth".samples`, "not set", "[1 2]"}, {`facing "wood".name`, "not set", "wood"}, {"format", "not set", "1"},
		{"pull.arm", "100 mm", "not set"}, {"pull.how", "twist", "straight"}, {"pull.patch", "not set", "circle"}, {"unit", "N", "kgf"},
	}, c.settingTable().Rows)
}

// TestStates: pulls are shared, so a change has no interval, and the rows tell
// what happened.
func TestStates(t *testing.T) {
	c := Between(side("blanks before"), later("blanks"))
	assert.True(t, c.SameStudy)
	for _, r := range c.Ratios {
		assert.False(t, r.Change.Lower.Known() || r.P.Known())
	}
	n := len(side("").Current)
	assert.Equal(t, n-3, c.Pulls.Shared)
	require.Len(t, c.Pulls.Added, 1)
	assert.Equal(t, n+1, c.Pulls.Added[0].Pull)
	require.Len(t, c.Pulls.Voided, 1)
	assert.Equal(t, PullChange{3, c.Pulls.Voided[0].Facing, "slipped", c.Pulls.Voided[0].OldForce, "void", c.Pulls.Voided[0].NewForce, "the tie let go"}, c.Pulls.Voided[0])
	require.Len(t, c.Pulls.Corrected, 1)
	assert.Equal(t, c.Pulls.Corrected[0].OldForce*2, c.Pulls.Corrected[0].NewForce)
	require.Len(t, c.Pulls.Withdrawn, 1)
	assert.Equal(t, "undone", c.Pulls.Withdrawn[0].Why)
	assert.Nil(t, c.Calibration)
	assert.Contains(t, c.Remarks[0], "has no interval")

	// The other way round pulls are missing, and that is said.
	back := Between(later("blanks"), side("blanks before"))
	require.Len(t, back.Pulls.Missing, 1)
	assert.Contains(t, strings.Join(back.Remarks, " "), "is the order of the two right?")
	golden.Equal(t, "states.html", html(t, c))
}

// A study against itself has nothing to tell.
func TestSame(t *testing.T) {
	c := Between(side("a"), side("a"))
	assert.True(t, c.SameStudy)
	for _, table := range c.Tables() {
		assert.NotContains(t, []string{"Set-up"}, table.Title)
	}
	assert.Empty(t, append(append(append(c.Pulls.Added, c.Pulls.Corrected...), c.Pulls.Voided...), c.Pulls.Missing...))
	assert.Equal(t, html(t, c), html(t, c))
}

func TestOtherControlAndQuantity(t *testing.T) {
	s := another("new")
	s.In.Results.Control, s.In.Results.Quantity = "bonded P240 abrasive cloth", analysis.Force
	c := Between(side("old"), s)
	assert.Empty(t, c.Control)
	assert.Empty(t, c.Ratios)
	assert.Empty(t, c.Grips)
	text := strings.Join(c.Remarks, " ")
	assert.Contains(t, text, "The controls differ (ground steel, then bonded P240 abrasive cloth)")
	assert.Contains(t, text, "the grips themselves cannot be compared")
}

// Tables of readings have no times: states when most rows agree.
func TestReadings(t *testing.T) {
	bare := func(s Side) Side {
		s.Ledger, s.Settings, s.Calibration = false, nil, nil
		for i := range s.Current {
			s.Current[i].Time, s.Current[i].Row = time.Time{}, 0
		}
		return s
	}
	c := Between(bare(side("old.csv")), bare(later("new.csv")))
	assert.True(t, c.SameStudy)
	assert.Len(t, c.Pulls.Missing, 1, "a table has no history to tell withdrawn pulls by")
	other := bare(another("new.csv"))
	for i := range other.Current {
		other.Current[i].Force *= 1.01
	}
	c = Between(bare(side("old.csv")), other)
	assert.False(t, c.SameStudy)
	assert.Nil(t, c.Calibration)
	assert.Empty(t, c.Settings)
	assert.Contains(t, strings.Join(c.Remarks, " "), "judged by their rows")
	nothing := Between(Side{Name: "a", In: report.Input{Force: example.Input().Force}}, Side{Name: "b", In: report.Input{Force: example.Input().Force}})
	assert.False(t, nothing.SameStudy)
	assert.Contains(t, string(html(t, nothing)), "no facing stands out in either")
}

func TestHostileNames(t *testing.T) {
	for i := range example.Hostile {
		name := func(k int) string { return example.Hostile[(i+k)%len(example.Hostile)] }
		s := side(name(3))
		s.In = example.Renamed([4]string{name(0), name(1), name(2), name(3)})
		for k := range s.Current {
			s.Current[k].Facing, s.Current[k].Reason = name(0), name(1)
		}
		n := later(name(1))
		n.In = s.In
		n.Settings = []Setting{{name(0), name(1)}}
		text := string(html(t, Between(s, n)))
		for _, bad := range []string{"<script>alert", "\u202e", "\x1b", "\x00"} {
			assert.NotContains(t, text, bad)
		}
	}
}

func html(t *testing.T, c Change) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Write(&b, c, "griptrial report --compare old new"))
	return b.Bytes()
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestWriteError(t *testing.T) {
	assert.ErrorContains(t, Write(broken{}, Between(side("a"), side("a")), ""), "disk full")
}
