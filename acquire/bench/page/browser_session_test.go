package page_test

import (
	"fmt"
	"os"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/study"
	"griptrial/acquire/table"
	"griptrial/analysis/slip"
	"griptrial/analysis/trial"
)

// hands are a way to use the page.
type hands struct {
	tick   func(n int)        // a check
	act    func(does string)  // what a button does
	choose func(reason int)   // one of the common reasons, from 1
	typeIn func(id, s string) // into a field
	move   func()             // the mark, to somewhere earlier
}

const button = `[data-does="%s"]`

// mouse uses the page by clicking.
func mouse(p *tab) hands {
	click := func(selector string) {
		p.wait("document.querySelector(`" + selector + "`) && !document.querySelector('[data-sending]')")
		p.do(chromedp.Click(chromedp.CSS(selector)))
	}
	return hands{
		tick:   func(n int) { click(fmt.Sprintf("label:has(#check-%d)", n)) },
		act:    func(does string) { click(fmt.Sprintf(button, does)) },
		choose: func(n int) { click(fmt.Sprintf("dialog[open] .choice:nth-child(%d)", n)) },
		typeIn: func(id, s string) {
			p.do(chromedp.Click(chromedp.CSS("#"+id)), chromedp.SendKeys(chromedp.CSS("#"+id), s))
		},
		move: func() {
			x, y := p.markAt()
			p.do(chromedp.DragAndDropXY(x, y, x-60, y))
		},
	}
}

// touch uses the page with a finger.
func touch(p *tab) hands {
	tap := func(selector string) {
		p.wait("document.querySelector(`" + selector + "`)")
		p.do(chromedp.Evaluate[chromedp.Void]("document.querySelector(`"+selector+"`).scrollIntoView({ block: 'center' })"), chromedp.Tap(chromedp.CSS(selector)))
	}
	return hands{
		tick:   func(n int) { tap(fmt.Sprintf("label:has(#check-%d)", n)) },
		act:    func(does string) { tap(fmt.Sprintf(button, does)) },
		choose: func(n int) { tap(fmt.Sprintf("dialog[open] .choice:nth-child(%d)", n)) },
		typeIn: func(id, s string) {
			tap("#" + id)
			p.do(chromedp.SendKeys(chromedp.CSS("#"+id), s))
		},
		move: func() {
			p.do(chromedp.ScrollIntoView(chromedp.CSS("#whole")))
			x, y := p.markAt()
			p.do(chromedp.TapXY(x-40, y))
		},
	}
}

// keyboard uses the page by keys alone, as the buttons show them.
func keyboard(p *tab) hands {
	keys := map[string]string{"begin": kb.Enter, "tare": kb.Enter, "accept": kb.Enter, "slipped": "s", "held": "h", "ask-void": "x", "undo": "u", "quit": kb.Enter}
	press := func(k string) { p.do(chromedp.KeyEvent(k)) }
	return hands{
		tick: func(n int) { press(fmt.Sprint(n + 1)) },
		act: func(does string) {
			p.wait("document.querySelector(`" + fmt.Sprintf(button, does) + "`)")
			press(keys[does])
		},
		choose: func(n int) { press(fmt.Sprint(n)) },
		typeIn: func(id, s string) {
			require.Equal(p.t, "note", id)
			press("n")
			p.wait("document.activeElement.id === 'note'")
			press(s)
			press(kb.Enter)
			p.wait("document.activeElement.id !== 'note'")
		},
		move: func() {
			for range 3 {
				press(kb.ArrowLeft)
			}
		},
	}
}

// markAt is where the handle of the mark is on the screen.
func (p *tab) markAt() (x, y float64) {
	p.t.Helper()
	at := eval[[]float64](p, `(() => { const r = document.getElementById('mark').getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()`)
	return at[0], at[1]
}

// begin goes through the checks.
func begin(p *tab, h hands) {
	p.t.Helper()
	p.phase("checks")
	n := eval[int](p, `document.querySelectorAll('#check-list input').length`)
	require.Equal(p.t, len(trial.SetupChecks), n)
	for i := range n {
		if !eval[bool](p, fmt.Sprintf("document.getElementById('check-%d').checked", i)) { // a session shortly before may have ticked it
			h.tick(i)
		}
		p.wait(fmt.Sprintf("document.getElementById('check-%d').checked", i))
	}
	p.wait(`document.querySelector('[data-does="begin"]:not([aria-disabled])')`)
	h.act("begin")
}

// clicked waits until the session has taken an action: the step that the page
// shows has grown.
func (p *tab) took(act func()) {
	p.t.Helper()
	step := eval[int](p, `Number(document.body.dataset.step)`)
	act()
	p.wait(fmt.Sprintf("Number(document.body.dataset.step) > %d", step))
}

// accept takes what is proposed; what is unclear is void.
func accept(p *tab, h hands) {
	p.t.Helper()
	if eval[bool](p, `document.querySelector('.proposed') !== null`) {
		does := eval[string](p, `document.querySelector('.proposed').dataset.does`)
		p.took(func() { h.act(does) })
		return
	}
	h.act("ask-void")
	p.wait(`document.querySelector('dialog[open]')`)
	p.took(func() { h.choose(1) })
}

// session pulls the whole plan, with a moved mark, a note, a void pull and an
// undo on the way, and ends it.
func session(p *tab, h hands) {
	p.t.Helper()
	begin(p, h)
	var moved, noted, voided, undone bool
	for {
		if p.phase("mounting", "done") == "done" {
			break
		}
		if noted && !undone {
			undone = true
			h.act("undo")
			p.wait(`document.querySelector('dialog[open]')`)
			p.took(func() { p.do(chromedp.KeyEvent(kb.Enter)) })
			p.says("undone:")
			continue
		}
		p.took(func() { h.act("tare") })
		p.phase("judging")
		p.wait(`!document.getElementById('mark').hidden`)
		slipped := eval[bool](p, `document.querySelector('.proposed')?.dataset.does === 'slipped'`)
		switch {
		case slipped && !moved:
			moved = true
			before := p.text("#mark-words")
			h.move()
			p.wait("document.getElementById('mark-words').innerText !== `" + before + "`")
			p.says("Your mark")
			p.wait(`document.querySelector('.flag')?.innerText === 'your mark'`)
			accept(p, h)
		case slipped && !noted:
			noted = true
			h.typeIn("note", "crept first")
			accept(p, h)
		case !voided:
			voided = true
			h.act("ask-void")
			p.wait(`document.querySelector('dialog[open]')`)
			p.took(func() { h.choose(1) })
		default:
			accept(p, h)
		}
	}
	require.True(p.t, moved && noted && voided && undone)
	p.took(func() { h.act("quit") })
	p.phase("over")
}

// pulled holds a ledger of a session against its traces: what the tool judged
// is what the trace says when it is read again, and what the person moved is
// marked as the person's.
func pulled(t *testing.T, f *study.Folder) {
	t.Helper()
	assert.Zero(t, f.Left())
	good, byPerson, notes, voids := 0, 0, 0, 0
	for _, r := range f.Current() {
		if r.Outcome == trial.Void {
			voids++
			assert.Contains(t, r.Note, "the tie let go")
			continue
		}
		good++
		file, err := os.Open(f.TracePath(r.Pull))
		require.NoError(t, err)
		trace, err := table.ReadTrace("trace", file)
		require.NoError(t, err)
		require.NoError(t, file.Close())
		says, err := slip.Detect(trace.Trace, slip.Options{})
		require.NoError(t, err)
		want := says.SlipForce
		if says.Outcome != trial.Slipped {
			want = says.PeakForce
		}
		if r.Judged == study.ByPerson {
			byPerson++
			assert.Less(t, r.Force, want, "the mark was moved down the slope")
		} else {
			assert.Equal(t, says.Outcome, r.Outcome)
			assert.InDelta(t, want, r.Force, 1e-6*want)
		}
		if r.Note == "crept first" {
			notes++
		}
	}
	assert.Equal(t, 12, good)
	assert.Equal(t, 1, byPerson)
	assert.LessOrEqual(t, 1, voids)
	assert.LessOrEqual(t, notes, 1, "the noted pull was undone")
}

func TestPageByMouse(t *testing.T)    { wholeSession(t, laptop, mouse) }
func TestPageByKeyboard(t *testing.T) { wholeSession(t, laptop, keyboard) }
func TestPageByTouch(t *testing.T)    { wholeSession(t, phone, touch) }

func wholeSession(t *testing.T, s screen, with func(*tab) hands) {
	b := browser(t)
	f := folder(t, blanks())
	v := serve(t, f, newCell(blanks(), 3))
	p := open(t, b, v.url+"/vise", s)
	session(p, with(p))
	assert.Equal(t, s.width, int64(eval[int](p, `document.documentElement.scrollWidth`)), "nothing is wider than the screen")
	pulled(t, v.whole(t))
}

// A hand scale: one field, as fast as paper.
func TestPageOfAHandScale(t *testing.T) {
	b := browser(t)
	s := blanks()
	s.Unit, s.Scale = "kgf", trial.Scale{Kind: "hand", Division: 0.5 * 9.80665}
	v := serve(t, folder(t, s), nil)
	p := open(t, b, v.url+"/vise", laptop)
	h := keyboard(p)
	begin(p, h)
	p.phase("typing")
	for i, line := range []string{"10", "35+", "x tie let go", "35.5", "11 ; crept", "oops", "12", "12", "12", "12", "12", "12", "12", "12"} {
		p.wait(`document.activeElement.id === 'reading' && document.getElementById('reading').value === ''`)
		if line == "oops" {
			p.do(chromedp.KeyEvent(line + kb.Enter))
			p.wait(`document.getElementById('typed-error').innerText !== ''`)
			p.do(chromedp.Evaluate[chromedp.Void](`document.getElementById('reading').select()`), chromedp.KeyEvent(kb.Backspace))
			continue
		}
		if i == 3 { // by the button for held
			p.do(chromedp.KeyEvent(line))
			p.took(func() { mouse(p).act("reading+") })
			continue
		}
		p.took(func() { p.do(chromedp.KeyEvent(line + kb.Enter)) })
	}
	p.phase("done")
	p.took(func() { mouse(p).act("quit") })
	p.phase("over")
	rows := v.whole(t).Current()
	require.Len(t, rows, 13)
	assert.Equal(t, []trial.Outcome{trial.Slipped, trial.Held, trial.Void, trial.Held, trial.Slipped},
		[]trial.Outcome{rows[0].Outcome, rows[1].Outcome, rows[2].Outcome, rows[3].Outcome, rows[4].Outcome})
	assert.InDelta(t, 35.5*9.80665, rows[3].Force, 1e-9)
	assert.Equal(t, "crept", rows[4].Note)
}
