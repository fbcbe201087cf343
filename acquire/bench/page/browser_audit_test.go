package page_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/simrig"
)

// auditor holds pages against axe-core, whose one file GRIPTRIAL_AXE names.
type auditor struct {
	t      *testing.T
	script string
	states int
}

func newAuditor(t *testing.T) *auditor {
	t.Helper()
	path := os.Getenv("GRIPTRIAL_AXE")
	if path == "" {
		needed(t, "axe-core (GRIPTRIAL_AXE names its axe.min.js)")
	}
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	return &auditor{t: t, script: string(text)}
}

// looks are the screens on which each state is audited: by all rules of axe-core
// on the first, by its rules of colour on the second, by our own on all.
var looks = []screen{
	{width: 1280, height: 720}, {width: 360, height: 640, touch: true, dark: true},
	{width: 820, height: 1180, touch: true}, {width: 640, height: 360}, // the last is also 200 % of a laptop
}

// ownRules hold what axe-core does not: nothing is cut off at the side, what
// can be touched is large enough for a glove, and one thing has the focus ring.
const ownRules = `(() => {
  const bad = [];
  if (document.documentElement.scrollWidth > innerWidth) bad.push('wider than the screen: ' + document.documentElement.scrollWidth);
  const top = document.querySelector('dialog[open]') ?? document;
  for (const e of top.querySelectorAll('button, input, label.tick, [role=slider]')) {
    if (!e.checkVisibility() || e.closest('label.tick input') || (e.tagName === 'INPUT' && e.closest('label.tick'))) continue;
    const r = e.getBoundingClientRect();
    if (r.height < 44 || r.width < 44) bad.push('too small for a glove: ' + (e.id || e.innerText) + ' ' + r.width + 'x' + r.height);
  }
  if (document.querySelectorAll('h1').length !== 1) bad.push('not one headline');
  return bad;
})()`

// audit holds a state of a page against the rules on every screen.
func (a *auditor) audit(p *tab, state string) {
	a.t.Helper()
	a.states++
	p.do(chromedp.Evaluate[chromedp.Void](a.script))
	for i, s := range looks {
		p.look(s)
		name := fmt.Sprintf("%s at %dx%d dark=%v", state, s.width, s.height, s.dark)
		assert.Empty(a.t, eval[[]string](p, ownRules), name)
		switch i {
		case 0:
			assert.Empty(a.t, eval[[]string](p, axeRules("")), name)
		case 1:
			assert.Empty(a.t, eval[[]string](p, axeRules("runOnly: ['color-contrast', 'link-in-text-block'],")), name)
		}
	}
	p.look(looks[0])
}

// axeRules runs axe-core, with some options, and gives what it found.
func axeRules(options string) string {
	return `axe.run({ ` + options + ` resultTypes: ['violations'] }).then((r) => r.violations.flatMap((v) => v.nodes.map((n) => v.id + ': ' + v.help + ' at ' + n.target + ' ' + n.html)))`
}

// The audit finds what is put there for it to find.
func TestAuditFinds(t *testing.T) {
	a := newAuditor(t)
	v := serve(t, folder(t, blanks()), newCell(blanks(), 3))
	p := open(t, browser(t), v.url+"/vise", looks[0])
	p.phase("checks")
	p.do(chromedp.Evaluate[chromedp.Void](a.script))
	p.do(chromedp.Evaluate[chromedp.Void](`(() => {
		const b = document.createElement('button');
		b.id = 'bad';
		b.style.minHeight = b.style.height = '10px';
		document.getElementById('main').append(b);
	})()`))
	assert.Contains(t, strings.Join(eval[[]string](p, axeRules("")), "\n"), "button-name")
	assert.Contains(t, strings.Join(eval[[]string](p, ownRules), "\n"), "too small for a glove: bad")
}

// Every state of the page, without a violation.
func TestPageIsAccessible(t *testing.T) {
	a := newAuditor(t)
	b := browser(t)
	c := newCell(blanks(), 3)
	c.idle = true
	v := serve(t, folder(t, blanks()), c)
	p := open(t, b, v.url+"/vise", looks[0])
	h := mouse(p)
	p.phase("checks")
	a.audit(p, "checks")
	for _, w := range []string{"cautions", "more"} {
		p.do(chromedp.Click(chromedp.CSS("#open-" + w)))
		p.wait("document.getElementById('" + w + "').open")
		if w == "more" {
			p.do(chromedp.Click(chromedp.CSS("#show-results")))
			p.wait(`document.querySelector('#results p')`)
		}
		a.audit(p, w)
		p.do(chromedp.KeyEvent(kb.Escape))
		p.wait(`!document.querySelector('dialog[open]')`)
	}
	begin(p, h)
	p.phase("mounting")
	a.audit(p, "mounting")
	h.act("weigh")
	p.phase("weighing")
	a.audit(p, "weighing")
	h.act("back")
	p.phase("mounting")
	c.set(func(c *cell) { c.stopped = true })
	h.act("tare")
	p.phase("settling")
	a.audit(p, "settling")
	c.set(func(c *cell) { c.stopped = false })
	p.phase("ready")
	a.audit(p, "ready")
	c.set(func(c *cell) {
		c.idle, c.toStop = false, midPull
		assert.NoError(t, c.device.Order(order(p)))
	})
	p.phase("pulling")
	p.wait(drawn + " > 30")
	a.audit(p, "pulling")
	others := open(t, b, v.url+"/", looks[0])
	others.phase("pulling")
	a.audit(others, "the view for others")
	second := open(t, b, v.url+"/vise", looks[0])
	second.phase("pulling")
	a.audit(second, "watching")
	c.set(func(c *cell) { c.stopped = false })
	p.phase("judging")
	p.wait(`!document.getElementById('mark').hidden`)
	a.audit(p, "judging")
	p.do(chromedp.KeyEvent(kb.ArrowLeft))
	p.wait(`document.querySelector('.flag')?.innerText === 'your mark'`)
	a.audit(p, "judging with a moved mark")
	h.act("ask-void")
	p.wait(`document.querySelector('dialog[open]')`)
	a.audit(p, "a reason")
	p.took(func() { h.choose(1) })
	p.phase("mounting")
	a.audit(p, "a pull was saved")
	h.act("undo")
	p.wait(`document.querySelector('dialog[open]')`)
	a.audit(p, "undo")
	p.do(chromedp.KeyEvent(kb.Escape))
	c.set(func(c *cell) { c.out = true })
	p.wait(`document.querySelector('#alarms .alarm')`)
	a.audit(p, "the cable is out")
	c.set(func(c *cell) { c.out = false })
	h.act("quit")
	p.wait(`document.querySelector('dialog[open]')`)
	p.took(func() { p.do(chromedp.Click(chromedp.CSS("dialog[open] [type=submit]"))) })
	p.phase("over")
	a.audit(p, "over")

	s := blanks()
	s.Scale.Kind = "hand"
	typed := serve(t, folder(t, s), nil)
	q := open(t, b, typed.url+"/vise", looks[0])
	begin(q, mouse(q))
	q.phase("typing")
	a.audit(q, "typing")
	q.do(chromedp.KeyEvent("oops" + kb.Enter))
	q.wait(`document.getElementById('typed-error').innerText !== ''`)
	a.audit(q, "a reading that is none")
	typed.cancel()
	<-typed.done
	q.phase("over")
	t.Logf("%d states on %d screens", a.states, len(looks))
}

// order is the pull that the page shows.
func order(p *tab) simrig.Order {
	return simrig.Order{Facing: p.text("#tag-facing"), Sample: p.text("#tag-facts dd"), Level: "usual"}
}
