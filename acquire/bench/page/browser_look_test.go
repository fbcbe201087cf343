package page_test

import (
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
)

// However many readings fall on a column of the picture, its least and greatest
// are drawn.
func TestPageDrawsEveryPeak(t *testing.T) {
	v := serve(t, folder(t, blanks()), newCell(blanks(), 3))
	p := open(t, browser(t), v.url+"/vise", laptop)
	bad := eval[[]string](p, `import('/assets/trace.js').then(({ columns, nearest }) => {
	const bad = [], n = 120000, width = 500, t = [], low = [], high = [];
	let seed = 7;
	const random = () => { seed = (seed * 1103515245 + 12345) % 2147483648; return seed / 2147483648; };
	for (let i = 0; i < n; i++) { t.push(i / 1000); const f = random(); low.push(f); high.push(f + random()); }
	low[77777] = -50;
	high[4321] = 300;
	const cols = columns({ t, low, high }, 0, 120, width);
	for (let c = 0; c < width; c++) {
		let least = Infinity, greatest = -Infinity;
		for (let i = 0; i < n; i++) if (Math.min(width - 1, Math.floor(t[i] / 120 * width)) === c) { least = Math.min(least, low[i]); greatest = Math.max(greatest, high[i]); }
		if (cols[c].least !== least || cols[c].greatest !== greatest) bad.push('column ' + c);
	}
	if (!cols.some((c) => c.greatest === 300) || !cols.some((c) => c.least === -50)) bad.push('a peak is lost');
	if (nearest(t, 4.3214) !== 4321 || nearest(t, -1) !== 0 || nearest(t, 1e9) !== n - 1) bad.push('nearest');
	if (columns({ t, low, high }, 5, 5, 10).some((c) => c)) bad.push('an empty range shows something');
	return bad;
})`)
	assert.Empty(t, bad)
}

// digitHeight is how high a digit of the number is in CSS pixels: 0.72 of its
// font, measured on the letters of Liberation Sans.
const digitHeight = `0.72 * parseFloat(getComputedStyle(document.getElementById('number')).fontSize)`

// The number can be read across the shop, the eye is not held by a chatter of
// announcements, and the tastes of a person are kept.
func TestPageForPeople(t *testing.T) {
	b := browser(t)
	c := newCell(blanks(), 3)
	c.stopIn = midPull
	v := serve(t, folder(t, blanks()), c)
	p := open(t, b, v.url+"/vise", laptop)
	h := keyboard(p)
	begin(p, h)
	p.phase("mounting")
	p.do(chromedp.Evaluate[chromedp.Void](`window.heard = []; for (const id of ['say', 'cry']) new MutationObserver(() => heard.push(document.getElementById(id).textContent)).observe(document.getElementById(id), { childList: true, characterData: true, subtree: true })`))
	pulling(p, h)
	// 4 m away a letter should be a two-hundredth of that, 20 mm: 76 px of 1/96 inch.
	// A phone is held nearer or its owner walks up; its pixels are finer.
	assert.Greater(t, eval[float64](p, digitHeight), 150.0, "on a laptop")
	p.look(phone)
	assert.Greater(t, eval[float64](p, digitHeight), 70.0, "on a phone")
	p.look(laptop)
	p.do(chromedp.KeyEvent("f"))
	p.wait(`/peak/.test(document.getElementById('say').textContent)`)
	c.set(func(c *cell) { c.stopped = false })
	p.phase("judging")
	heard := eval[[]string](p, `heard`)
	assert.LessOrEqual(t, len(heard), 10, "announcements of a whole pull: %q", heard)

	// Results only for who asks, and not for who watches.
	p.do(chromedp.KeyEvent("m"))
	p.wait(`document.getElementById('more').open`)
	assert.Contains(t, p.text("#more"), "stay hidden while you pull")
	assert.Zero(t, eval[int](p, `document.querySelectorAll('#results table').length`))
	p.do(chromedp.Click(chromedp.CSS("#show-results")))
	p.wait(`document.querySelectorAll('#results tbody tr').length === 2`)
	p.do(chromedp.Click(chromedp.CSS(`#more input[value="dark"]`)))
	dark := eval[string](p, `getComputedStyle(document.body).backgroundColor`)
	p.do(chromedp.Click(chromedp.CSS(`#one-key`)))
	p.do(chromedp.KeyEvent(kb.Escape))
	p.do(chromedp.Reload())
	p.phase("judging")
	p.do(chromedp.KeyEvent("x"), chromedp.KeyEvent("m"))
	assert.False(t, eval[bool](p, `document.querySelector('dialog[open]') !== null`), "single keys are off")
	assert.Equal(t, dark, eval[string](p, `getComputedStyle(document.body).backgroundColor`), "the dark look is kept")

	others := open(t, b, v.url+"/", laptop)
	others.phase("judging")
	others.do(chromedp.KeyEvent("m"))
	others.wait(`document.getElementById('more').open`)
	assert.Zero(t, eval[int](others, `[...document.querySelectorAll('#show-results')].filter((e) => e.checkVisibility()).length`))
}
