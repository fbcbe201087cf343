package page_test

import (
	"bufio"
	"fmt"
	"net"
	"os"
	"os/exec"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/study"
	"griptrial/analysis/trial"
)

// midPull is how many conversions after its order a pull is well under load.
const midPull = 300

// pulling brings a page into the middle of a pull, where the cell stands still.
func pulling(p *tab, h hands) {
	p.t.Helper()
	p.phase("mounting")
	p.took(func() { h.act("tare") })
	p.phase("pulling")
	p.wait(`document.getElementById('live').ariaLabel.startsWith('Force over 2 s') || document.getElementById('live').ariaLabel.startsWith('Force over 3 s')`)
}

// drawn is how many columns of the live trace show something of it.
const drawn = `(() => { const c = document.getElementById('live'), g = c.getContext('2d'), d = g.getImageData(0, 0, c.width, c.height).data;
const want = getComputedStyle(c).getPropertyValue('--trace').trim().match(/[0-9a-f]{2}/gi).map((h) => parseInt(h, 16));
let n = 0;
for (let x = 0; x < c.width; x++) for (let y = 0; y < c.height; y++) { const i = 4 * (y * c.width + x);
  if (d[i + 3] > 200 && Math.abs(d[i] - want[0]) + Math.abs(d[i + 1] - want[1]) + Math.abs(d[i + 2] - want[2]) < 12) { n++; break; } }
return n; })()`

// A page that is loaded again in mid-pull has the whole trace, keeps the say,
// and the pull goes on.
func TestPageReloadedInMidPull(t *testing.T) {
	b := browser(t)
	c := newCell(blanks(), 3)
	c.stopIn = midPull
	v := serve(t, folder(t, blanks()), c)
	p := open(t, b, v.url+"/vise", laptop)
	h := mouse(p)
	begin(p, h)
	pulling(p, h)
	p.wait(drawn + " > 100")
	words, columns := eval[string](p, `document.getElementById('live').ariaLabel`), eval[int](p, drawn)
	p.do(chromedp.Reload())
	p.phase("pulling")
	p.wait("document.getElementById('live').ariaLabel === `" + words + "`")
	p.wait(fmt.Sprintf("Math.abs(%s - %d) <= 2", drawn, columns))
	assert.True(t, eval[bool](p, `document.getElementById('watching').hidden`), "the page kept the say")
	c.set(func(c *cell) { c.stopped, c.stopIn = false, 0 })
	p.phase("judging")
	p.do(chromedp.Reload()) // and while judging: the mark, the note
	p.phase("judging")
	p.wait(`!document.getElementById('mark').hidden`)
	h.move()
	p.wait(`document.querySelector('.flag')?.innerText === 'your mark'`)
	h.typeIn("note", "seen")
	mark := p.text("#mark-words")
	p.do(chromedp.Reload())
	p.phase("judging")
	p.wait("document.getElementById('mark-words').innerText === `" + mark + "` && document.getElementById('note').value === 'seen'")
	accept(p, h)
	p.phase("mounting")
	h.act("quit")
	p.wait(`document.querySelector('dialog[open]')`)
	p.do(chromedp.Click(chromedp.CSS("dialog[open] [type=submit]")))
	p.phase("over")
	rows := v.whole(t).Current()
	require.Len(t, rows, 1, "saved once")
	assert.Equal(t, "seen", rows[0].Note)
}

// The cable comes out in mid-pull: the page says so, the pull is kept as void,
// and with the cable back the same pull is asked for again.
func TestPageWithCableOut(t *testing.T) {
	b := browser(t)
	c := newCell(blanks(), 3)
	c.stopIn = midPull
	v := serve(t, folder(t, blanks()), c)
	p := open(t, b, v.url+"/vise", laptop)
	h := mouse(p)
	begin(p, h)
	pulling(p, h)
	c.set(func(c *cell) { c.out = true })
	p.wait(`document.querySelector('#alarms .alarm')`)
	assert.Contains(t, p.text("#alarms"), "cable")
	c.device.Reset()
	c.set(func(c *cell) { c.out, c.stopped, c.stopIn, c.toStop = false, false, 0, 0 })
	p.wait(`!document.querySelector('#alarms .alarm')`)
	p.phase("mounting")
	p.says("Mount it again")
	p.took(func() { h.act("tare") })
	p.phase("judging")
	accept(p, h)
	p.phase("mounting")
	p.says("Pull 2 of 12")
	v.cancel()
	<-v.done
	require.NoError(t, v.folder.Close())
	v.closed = true
	f, err := study.Open(v.folder.Dir())
	require.NoError(t, err)
	require.Empty(t, f.Check())
	rows := f.Current()
	require.Len(t, rows, 2)
	assert.Equal(t, trial.Void, rows[0].Outcome)
	assert.NotEqual(t, trial.Void, rows[1].Outcome)
}

// TestServe is a session of its own process, which TestPageOfAKilledProgram kills.
func TestServe(t *testing.T) {
	dir := os.Getenv("GRIPTRIAL_TEST_BENCH")
	if dir == "" {
		t.Skip("only for TestPageOfAKilledProgram")
	}
	f, err := study.OpenForWriting(dir, "test")
	require.NoError(t, err)
	c := newCell(blanks(), 3)
	if os.Getenv("GRIPTRIAL_TEST_STOP") != "" {
		c.stopIn = midPull
	}
	l, err := net.Listen("tcp", os.Getenv("GRIPTRIAL_TEST_ADDRESS"))
	require.NoError(t, err)
	v := serveOn(l, f, c)
	fmt.Printf("serving %s\n", l.Addr())
	<-v.done
	require.NoError(t, f.Close())
}

// process starts a session in a process of its own, and gives its address.
func process(t *testing.T, dir, address string, stop bool) (*exec.Cmd, string) {
	t.Helper()
	cmd := exec.Command(os.Args[0], "-test.run=^TestServe$")
	cmd.Env = append(os.Environ(), "GRIPTRIAL_TEST_BENCH="+dir, "GRIPTRIAL_TEST_ADDRESS="+address)
	if stop {
		cmd.Env = append(cmd.Env, "GRIPTRIAL_TEST_STOP=1")
	}
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		_ = cmd.Process.Kill() // it may have ended by itself
		_ = cmd.Wait()
	})
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if _, err := fmt.Sscanf(lines.Text(), "serving %s", &address); err == nil {
			return cmd, address
		}
	}
	t.Fatal("the session did not start")
	return nil, ""
}

// The program is killed in mid-pull and started again: the page says what
// happened, finds it by itself, and goes on at the same pull.
func TestPageOfAKilledProgram(t *testing.T) {
	b := browser(t)
	f := folder(t, blanks())
	dir := f.Dir()
	require.NoError(t, f.Close())
	cmd, address := process(t, dir, "127.0.0.1:0", true)
	p := open(t, b, "http://"+address+"/vise", laptop)
	h := mouse(p)
	begin(p, h)
	pulling(p, h)
	require.NoError(t, cmd.Process.Kill())
	_ = cmd.Wait() // it was killed
	p.says("No word from the program")
	p.says("What was saved is safe")
	process(t, dir, address, false)
	p.wait(`!document.querySelector('#alarms .alarm')`)
	p.phase("checks")
	p.says("Pull 1 of 12")
	assert.True(t, eval[bool](p, `document.getElementById('watching').hidden`))
	begin(p, h)
	if p.phase("mounting", "judging") == "judging" { // what was recorded of the pull may be judged first
		h.act("ask-void")
		p.wait(`document.querySelector('dialog[open]')`)
		p.took(func() { h.choose(1) })
		p.phase("mounting")
	}
	p.took(func() { h.act("tare") })
	p.phase("judging")
	p.wait(`!document.getElementById('mark').hidden`)
	accept(p, h)
	p.says("Pull 2 of 12")
	h.act("quit")
	p.wait(`document.querySelector('dialog[open]')`)
	p.do(chromedp.Click(chromedp.CSS("dialog[open] [type=submit]")))
	p.phase("over")
	again, err := study.Open(dir)
	require.NoError(t, err)
	good := 0
	for _, r := range again.Current() {
		if r.Outcome != trial.Void {
			good++
		}
	}
	assert.Equal(t, 1, good, "saved once")
	assert.Equal(t, 11, again.Left())
}

// Two screens: one commands, the other watches, and takes over when asked to.
// The view for others never commands.
func TestPageInTwoBrowsers(t *testing.T) {
	b := browser(t)
	v := serve(t, folder(t, blanks()), newCell(blanks(), 3))
	first := open(t, b, v.url+"/vise", laptop)
	first.phase("checks")
	second := open(t, b, v.url+"/vise", phone)
	second.says("Watching")
	others := open(t, b, v.url+"/", laptop)
	others.says("Watching")
	h := mouse(first)
	begin(first, h)
	for _, p := range []*tab{second, others} {
		p.phase("mounting")
		assert.Zero(t, eval[int](p, `document.querySelectorAll('[data-does="tare"]').length`))
	}
	assert.Zero(t, eval[int](others, `document.querySelectorAll('[data-does]').length`))
	first.took(func() { h.act("tare") })
	for _, p := range []*tab{first, second, others} {
		p.phase("judging")
		p.wait(`!document.getElementById('mark').hidden`)
	}
	finger := touch(second)
	finger.act("take")
	second.wait(`document.getElementById('watching').hidden`)
	first.wait(`!document.getElementById('watching').hidden && document.querySelector('[data-does="take"]')`)
	assert.Zero(t, eval[int](first, `document.querySelectorAll('[data-does="held"]').length`))
	accept(second, finger)
	for _, p := range []*tab{first, second, others} {
		p.says("Pull 2 of 12")
	}
	h.act("take")
	first.wait(`document.getElementById('watching').hidden`)
	second.wait(`!document.getElementById('watching').hidden`)
	first.took(func() { h.act("tare") })
	first.phase("judging")
}
