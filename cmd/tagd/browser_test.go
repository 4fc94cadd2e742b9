package main

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// The pages are tried in Chromium, as the shop's people have them. One browser serves all tests; each test has a
// context of its own, with no cookies of another.

// camera is what the browser's camera shows: a film that a test writes there.
func camera() string { return filepath.Join(binaries, "camera.mjpeg") }

// stopChromium ends the browser, if a test has started it.
var stopChromium = func() {}

// startChromium starts the browser once.
var startChromium = sync.OnceValues(func() (context.Context, error) {
	path, err := exec.LookPath("chromium")
	if err != nil {
		return nil, err
	}
	profile, err := os.MkdirTemp(binaries, "chromium-")
	if err != nil {
		return nil, err
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.UserDataDir(profile), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("hide-scrollbars", true),
		chromedp.Flag("use-fake-device-for-media-stream", true), chromedp.Flag("use-fake-ui-for-media-stream", true),
		chromedp.Flag("use-file-for-fake-video-capture", camera()),
	)
	ctx, _ := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, _ = chromedp.NewContext(ctx)
	stopChromium = func() {
		end, cancel := context.WithTimeout(ctx, 10*time.Second)
		defer cancel()
		_ = chromedp.Cancel(end) // the tests are over
	}
	return ctx, chromedp.Do(ctx)
})

// chromium is the browser. Tests with it take a minute: make test runs them (TAGD_PEERS=1), and fails without the
// browser; go test ./... needs nothing but Go.
func chromium(t testing.TB) context.Context {
	t.Helper()
	switch {
	case raced:
		t.Skip("the browser and the server are programs of their own, of which the race detector sees nothing")
	case os.Getenv("TAGD_PEERS") != "1" && os.Getenv("TAGD_SHOTS") == "" && os.Getenv("TAGD_FINDINGS") == "":
		t.Skip("the pages are tried in Chromium where TAGD_PEERS=1, as make test sets it")
	}
	ctx, err := startChromium()
	require.NoError(t, err)
	return ctx
}

// peerFile is a file of a package from npm, which make test has put into a folder that git ignores.
func peerFile(t testing.TB, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "..", ".peers", "node_modules", filepath.FromSlash(path)))
	require.NoError(t, err, "make peers")
	return b
}

// tab is a page in a browser of its own: a device.
type tab struct {
	testing.TB
	ctx context.Context
	url string // of the server

	mu    sync.Mutex
	wrong []string // what the console said is wrong
}

// newTab opens a browser's window on a server, as large as the tablet of the floor.
func newTab(t testing.TB, url string) *tab {
	t.Helper()
	b := &tab{TB: t, url: url}
	ctx, cancel := chromedp.NewContext(chromium(t), chromedp.WithNewBrowserContext(), chromedp.WithListener(b.hear))
	t.Cleanup(cancel)
	b.ctx = ctx
	require.NoError(t, chromedp.Do(ctx))
	b.size(1024, 768)
	return b
}

// hear keeps what the console says is wrong: an error of a script, a file that does not come, and what the
// content security policy stopped.
func (b *tab) hear(ev any) {
	var text string
	switch ev := ev.(type) {
	case *runtime.EventExceptionThrown:
		text = ev.ExceptionDetails.Text
	case *runtime.EventConsoleAPICalled:
		if ev.Type != runtime.ConsoleAPICalledTypeError && ev.Type != runtime.ConsoleAPICalledTypeAssert {
			return
		}
		for _, a := range ev.Args {
			text += string(a.Value) + " " + a.Description
		}
	case *log.EventEntryAdded:
		if ev.Entry.Level != log.EntryLevelError {
			return
		}
		text = ev.Entry.Text + " " + ev.Entry.URL
	default:
		return
	}
	b.mu.Lock()
	b.wrong = append(b.wrong, strings.TrimSpace(text))
	b.mu.Unlock()
}

// complaints are what the console said is wrong since it was asked last.
func (b *tab) complaints() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	said := b.wrong
	b.wrong = nil
	return said
}

// do does something in the page, within the time that a page may take.
func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, 30*time.Second)
	defer cancel()
	require.NoError(b, chromedp.Do(ctx, steps...))
}

// open goes to a page of the server.
func (b *tab) open(path string) {
	b.Helper()
	b.do(chromedp.Navigate(b.url + path))
}

// size makes the window so large, in CSS pixels.
func (b *tab) size(width, height int64) {
	b.Helper()
	b.do(chromedp.EmulateViewport(width, height))
}

// scheme says what the person prefers, "light" or "dark".
func (b *tab) scheme(light string) {
	b.Helper()
	b.call(emulation.SetEmulatedMedia.Method, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: light}, {Name: "prefers-reduced-motion", Value: "reduce"}},
	})
}

// scripts turns the page's scripts on or off.
func (b *tab) scripts(on bool) {
	b.Helper()
	b.call(emulation.SetScriptExecutionDisabled.Method, emulation.SetScriptExecutionDisabledParams{Value: !on})
}

// call gives the browser a command that answers nothing.
func (b *tab) call(method string, params any) {
	b.Helper()
	b.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error { return t.Call(ctx, method, params, nil) }))
}

// ask evaluates an expression in the page, and waits for it if it is a promise. The test's own expressions run
// where the policy of the page does not hold.
func ask[T any](b *tab, expression string) T {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, 30*time.Second)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	require.NoError(b, err, expression[:min(len(expression), 200)])
	return v
}

// until waits for an expression to be true, also over a page that goes and another that comes.
func (b *tab) until(expression string) {
	b.Helper()
	deadline := time.Now().Add(20 * time.Second)
	for {
		ctx, cancel := context.WithTimeout(b.ctx, 5*time.Second)
		ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("document.readyState === 'complete' && Boolean("+expression+")"))
		cancel()
		if err == nil && ok {
			return
		}
		if time.Now().After(deadline) {
			b.Fatalf("%s does not come true (%v) on:\n%s", expression, err, ask[string](b, "document.body.innerText"))
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// quoted is a text as a literal of JavaScript.
func quoted(s string) string {
	b, err := json.Marshal(s)
	if err != nil {
		panic(err) // a text can always be written
	}
	return string(b)
}

// scanner types as a scanner does, key by key, wherever the focus is, and presses Enter.
func (b *tab) scanner(code string) {
	b.Helper()
	b.do(chromedp.KeyEvent(code + "\r"))
}

// The sign of the answer that a station's page shows. Another one stands there with the next answer, whether the
// page was sent for anew or a script took the answer over.
const signShown = `document.querySelector('main#work :is(.answer, .stop)')?.querySelector('svg')`

// answered waits for the answer to what act sends from a station's page, and gives its verdict.
func (b *tab) answered(act func()) string {
	b.Helper()
	b.until(signShown)
	ask[bool](b, "Boolean(Object.assign("+signShown+", { seen: true }))")
	act()
	b.until("(" + signShown + " && !" + signShown + ".seen)")
	return ask[string](b, `document.querySelector('main#work').dataset.answer ?? ''`)
}

// axe runs axe-core on the page, and gives what it finds: rule, why and where. Without rules it runs all that
// concern us.
func (b *tab) axe(rules ...string) []string {
	b.Helper()
	only := map[string]any{"type": "tag", "values": []string{"wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"}}
	if len(rules) > 0 {
		only = map[string]any{"type": "rule", "values": rules}
	}
	options, err := json.Marshal(map[string]any{"runOnly": only, "resultTypes": []string{"violations"}})
	require.NoError(b, err)
	if !ask[bool](b, "typeof window.axe === 'object'") {
		b.do(chromedp.Evaluate[chromedp.Void](string(peerFile(b, "axe-core/axe.min.js"))))
	}
	return ask[[]string](b, `axe.run(document, `+string(options)+`).then((r) => r.violations.flatMap((v) => v.nodes.map((n) =>
		v.id + ': ' + v.help + ': ' + n.target.join(' ') + ' ' + n.html.slice(0, 120) + ' ' + n.any.map((a) => a.message).join('; ').slice(0, 160))))`)
}

// picture is the page as it stands, as PNG.
func (b *tab) picture() []byte {
	b.Helper()
	png, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	require.NoError(b, err)
	return png
}

// without leaves out the findings that contain any of these texts.
func without(found []string, texts ...string) []string {
	return slices.DeleteFunc(found, func(f string) bool {
		return slices.ContainsFunc(texts, func(x string) bool { return strings.Contains(f, x) })
	})
}
