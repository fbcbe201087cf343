package page_test

import (
	"context"
	"os"
	"os/exec"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// patience is how long a test waits for what must come. Nothing is measured by
// it: a loaded machine only takes longer.
const patience = 2 * time.Minute

// needed skips a test for want of a program, or fails it where the programs
// must be there.
func needed(t *testing.T, what string) {
	t.Helper()
	if os.Getenv("GRIPTRIAL_REQUIRE_TOOLS") == "1" {
		t.Fatalf("%s is needed, and GRIPTRIAL_REQUIRE_TOOLS=1", what)
	}
	t.Skipf("%s is not there", what)
}

// chrome is the browser that all tests share; each opens profiles of its own.
var chrome struct {
	once sync.Once
	ctx  context.Context
	stop []context.CancelFunc
	err  error
}

// TestMain ends the browser, if one was started, with all that it left on disk.
func TestMain(m *testing.M) {
	code := m.Run()
	for _, stop := range slices.Backward(chrome.stop) {
		stop()
	}
	os.Exit(code)
}

// browser gives the headless Chromium, and starts it for the first test that
// asks.
func browser(t *testing.T) context.Context {
	t.Helper()
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		needed(t, "Chromium")
	}
	chrome.once.Do(func() {
		options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.DisableGPU, chromedp.Flag("disable-quic", true))
		if os.Geteuid() == 0 {
			options = append(options, chromedp.NoSandbox)
		}
		ctx, stop := chromedp.NewExecAllocator(context.Background(), options...)
		chrome.stop = append(chrome.stop, stop)
		chrome.ctx, stop = chromedp.NewContext(ctx)
		chrome.stop = append(chrome.stop, stop)
		chrome.err = chromedp.Do(chrome.ctx)
	})
	require.NoError(t, chrome.err)
	return chrome.ctx
}

// tab is a page in a browser profile of its own.
type tab struct {
	t   *testing.T
	ctx context.Context
}

// screen is how a tab looks at the page.
type screen struct {
	width, height int64
	touch, dark   bool
}

var (
	laptop = screen{width: 1280, height: 720}
	phone  = screen{width: 360, height: 640, touch: true}
)

// watchFaults gathers what must never happen on the page.
const watchFaults = `window.faults = [];
addEventListener('error', (e) => faults.push(String(e.message)));
addEventListener('unhandledrejection', (e) => faults.push(String(e.reason)));
addEventListener('securitypolicyviolation', (e) => faults.push('policy: ' + e.violatedDirective + ' ' + e.blockedURI));`

// open opens an address in a new profile. When the test ends without a fault in
// the page, the tab is closed.
func open(t *testing.T, browser context.Context, url string, look screen) *tab {
	t.Helper()
	ctx, stop := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	t.Cleanup(stop)
	p := &tab{t, ctx}
	require.NoError(t, chromedp.Do(ctx, chromedp.Navigate("about:blank"))) // not under a limit: the tab lives as long as this context
	call(p, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: watchFaults})
	p.look(look)
	p.do(chromedp.Navigate(url))
	t.Cleanup(func() {
		if faults, err := run[[]string](p, `window.faults`); err == nil {
			assert.Empty(t, faults, "faults in the page")
		}
	})
	return p
}

// look gives the tab the size and the taste of a screen.
func (p *tab) look(s screen) {
	p.t.Helper()
	size := chromedp.EmulateViewport(s.width, s.height)
	if s.touch {
		size = chromedp.EmulateViewport(s.width, s.height, chromedp.EmulateMobile, chromedp.EmulateTouch)
	}
	p.do(size)
	scheme := "light"
	if s.dark {
		scheme = "dark"
	}
	call(p, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
}

// call asks the browser itself for something.
func call[P, R any](p *tab, command cdp.Command[P, R], params P) R {
	p.t.Helper()
	ctx, stop := context.WithTimeout(p.ctx, patience)
	defer stop()
	r, err := chromedp.Call(ctx, command, params)
	require.NoError(p.t, err)
	return r
}

func (p *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, stop := context.WithTimeout(p.ctx, patience)
	defer stop()
	if err := chromedp.Do(ctx, steps...); err != nil {
		p.fail("%v", err)
	}
}

// run evaluates an expression once.
func run[T any](p *tab, js string) (T, error) {
	ctx, stop := context.WithTimeout(p.ctx, patience)
	defer stop()
	return chromedp.Run(ctx, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
}

// eval is the value of an expression, or of what it promises.
func eval[T any](p *tab, js string) T {
	p.t.Helper()
	v, err := run[T](p, js)
	if err != nil {
		p.fail("%s: %v", js, err)
	}
	return v
}

// fail ends the test and says what the page shows.
func (p *tab) fail(format string, args ...any) {
	p.t.Helper()
	shows, err := run[string](p, `document.body.dataset.phase + '\n' + document.body.innerText + '\nfaults: ' + window.faults`)
	p.t.Logf("the page shows: %s %v", shows, err)
	p.t.Fatalf(format, args...)
}

// wait waits until an expression is true.
func (p *tab) wait(js string) {
	p.t.Helper()
	for begun := time.Now(); ; time.Sleep(15 * time.Millisecond) { // nothing tells of every change of a page
		ok, err := run[bool](p, "Boolean("+js+")")
		if err == nil && ok {
			return
		}
		if time.Since(begun) > patience {
			p.fail("never became true: %s (%v)", js, err)
		}
	}
}

// phase waits until the page is in one of these phases, and says which.
func (p *tab) phase(names ...string) string {
	p.t.Helper()
	list := ""
	for _, n := range names {
		list += "'" + n + "',"
	}
	p.wait("[" + list + "].includes(document.body.dataset.phase)")
	return eval[string](p, `document.body.dataset.phase`)
}

// text is what an element says.
func (p *tab) text(selector string) string {
	p.t.Helper()
	return eval[string](p, "document.querySelector(`"+selector+"`).innerText")
}

// says waits until the page shows some words.
func (p *tab) says(words string) {
	p.t.Helper()
	p.wait("document.body.innerText.includes(`" + words + "`)")
}
