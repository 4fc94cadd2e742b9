package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/api"
	"tagd/internal/plant"
)

// morningOf is a shop of its own in which the demo's stock has come in and its lists are taken.
func morningOf(t *testing.T, name string) (*shopUp, *day) {
	t.Helper()
	sh, err := startShop(name, quick(string(plant.Default("")))+demoStations)
	require.NoError(t, err)
	out := filepath.Join(t.TempDir(), "out")
	require.NoError(t, os.MkdirAll(filepath.Join(out, "tags"), 0o755))
	var story bytes.Buffer
	d := newDay(context.Background(), sh.url, out, &story)
	d.tick = func(time.Time) time.Time { return time.Now() }
	for _, step := range []func(){d.open, d.receive, d.takeLists} {
		step()
		require.NoError(t, d.err)
	}
	t.Cleanup(func() {
		if t.Failed() {
			t.Log(story.String())
		}
	})
	return sh, d
}

// at are the events at a station, in order: what happened, about what.
func (sh *shopUp) at(t *testing.T, station string) (events []api.Event) {
	t.Helper()
	c := &api.Client{Base: sh.url}
	for after := int64(0); ; {
		page, err := c.Journal(context.Background(), after, 1000)
		require.NoError(t, err)
		if len(page.Events) == 0 {
			return events
		}
		for _, e := range page.Events {
			if e.Station == station {
				events = append(events, e)
			}
			after = int64(e.Seq)
		}
	}
}

// TestAnHourWithoutScript: the demo's first hour at Shear 1 in a browser whose scripts are off: scans, counts, feeds
// emptied, a trigger pulled twice, refusals.
func TestAnHourWithoutScript(t *testing.T) {
	chromium(t)
	sh, d := morningOf(t, "without-script")
	floor := &shopFloor{T: t, url: sh.url, stations: map[string]*stationTab{}, plain: true}
	d.scans = floor.scan
	for _, step := range []func(){d.threeMarks, d.remnantAgain, d.twoHeats, d.oneHeatOnly, d.countDifference} {
		step()
		require.NoError(t, d.err)
	}
	require.Len(t, floor.stations, 1)
}

// wire is the network between a browser and the server, which can be cut.
type wire struct {
	to, at string

	mu       sync.Mutex
	listener net.Listener
	deaf     bool // requests go through, answers do not come back
	open     map[net.Conn]bool
}

func newWire(t *testing.T, url string) *wire {
	w := &wire{to: strings.TrimPrefix(url, "http://"), at: "127.0.0.1:0", open: map[net.Conn]bool{}}
	w.mend(t)
	t.Cleanup(w.cut)
	return w
}

func (w *wire) url() string { return "http://" + w.at }

// mend lets the network be there, at the address where it was.
func (w *wire) mend(t *testing.T) {
	l, err := net.Listen("tcp", w.at)
	require.NoError(t, err)
	w.mu.Lock()
	w.listener, w.at, w.deaf = l, l.Addr().String(), false
	w.mu.Unlock()
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go w.join(c)
		}
	}()
}

// join carries what two ends say to one another.
func (w *wire) join(c net.Conn) {
	defer c.Close()
	server, err := net.Dial("tcp", w.to)
	if err != nil {
		return
	}
	defer server.Close()
	w.mu.Lock()
	w.open[c], w.open[server] = true, true
	w.mu.Unlock()
	go func() {
		_, _ = io.Copy(server, c) // an end that was cut has nothing more to say
		server.Close()
	}()
	buf := make([]byte, 32<<10)
	for {
		n, err := server.Read(buf)
		w.mu.Lock()
		deaf := w.deaf
		w.mu.Unlock()
		if err != nil {
			return
		}
		if deaf {
			continue
		}
		if _, err := c.Write(buf[:n]); err != nil {
			return
		}
	}
}

// loseAnswers lets requests through, and no answer back.
func (w *wire) loseAnswers() {
	w.mu.Lock()
	w.deaf = true
	w.mu.Unlock()
}

// cut ends the network: nothing listens any more, and what was open is closed.
func (w *wire) cut() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.listener.Close()
	for c := range w.open {
		c.Close()
	}
	w.open = map[net.Conn]bool{}
}

// TestTheNetworkIsCut: in the middle of ten scans the network goes, after the server had a scan whose answer was
// lost. The device keeps what is scanned then, says so, and sends it when the network is back: ten receipts, none
// twice, in the order in which they were scanned.
func TestTheNetworkIsCut(t *testing.T) {
	chromium(t)
	sh, d := morningOf(t, "cut-off")
	w := newWire(t, sh.url)
	b := newTab(t, w.url())
	b.open("/at/Y1")
	codes := []string{d.numbers["R-01"]}
	for _, lot := range stockBought {
		codes = append(codes, d.numbers[lot.name])
	}
	codes = append(codes, d.numbers["A-01"])
	require.Len(t, codes, 10)

	for _, code := range codes[:4] {
		require.Equal(t, "accepted", b.answered(func() { b.scanner(code) }))
	}
	require.Empty(t, b.complaints())
	w.loseAnswers()
	b.scanner(codes[4])
	require.Eventually(t, func() bool { return len(sh.at(t, "Y1")) == 5 }, 10*time.Second, 20*time.Millisecond, "the server has the fifth")
	w.cut()
	b.until(`document.querySelector('main#work').dataset.answer === 'kept'`)
	for _, code := range codes[5:8] {
		require.Equal(t, "kept", b.answered(func() { b.scanner(code) }))
	}
	require.Len(t, sh.at(t, "Y1"), 5, "nothing reaches the server")
	require.True(t, ask[bool](b, `document.querySelector('#net').classList.contains('off')`), "the page says that the network is gone")
	for _, code := range codes[4:8] {
		require.Contains(t, strings.ReplaceAll(ask[string](b, `document.querySelector('main#work').innerText`), "-", ""), strings.ReplaceAll(code, "-", ""), "what is kept is listed")
	}
	w.mend(t)
	b.until(`document.querySelector('main#work').dataset.answer !== 'kept'`)
	require.Eventually(t, func() bool { return len(sh.at(t, "Y1")) >= 8 }, 40*time.Second, 50*time.Millisecond, "what was kept is sent")
	for _, code := range codes[8:] {
		require.Equal(t, "accepted", b.answered(func() { b.scanner(code) }))
	}

	events := sh.at(t, "Y1")
	require.Len(t, events, 10, "ten receipts")
	keys := map[string]bool{}
	for i, e := range events {
		require.False(t, keys[e.Key], "twice")
		keys[e.Key] = true
		require.Contains(t, strings.ReplaceAll(fmt.Sprint(e), "-", ""), strings.ReplaceAll(codes[i], "-", ""), "receipt %d is of what was scanned so", i+1)
	}
	require.True(t, slices.IsSortedFunc(events, func(a, b api.Event) int { return a.Happened.Compare(*b.Happened) }), "they happened in order")
}

// TestTwoAtOneLoad: what one device loads, the other one that has the load open sees, with no hand laid on it.
func TestTwoAtOneLoad(t *testing.T) {
	chromium(t)
	sh, d := morningOf(t, "two")
	floor := &shopFloor{T: t, url: sh.url, stations: map[string]*stationTab{}}
	d.scans = floor.scan
	d.threeMarks()
	require.NoError(t, d.err)
	l, err := d.c.PlanLoad(d.ctx, api.PlanLoad{Truck: "T-14", Limit: "44,000 lb", Stops: []api.PlanStop{{Stop: api.Stop{Job: bridge}}}, By: d.by("office")})
	require.NoError(t, err)
	one, two := newTab(t, sh.url), newTab(t, sh.url)
	for _, b := range []*tab{one, two} {
		b.open("/at/L1")
		require.Equal(t, "accepted", b.answered(func() { b.scanner(l.Load.Number) }))
		ask[bool](b, `window.untouched = true`)
	}
	const text = `document.querySelector('main#work').innerText`
	require.NotContains(t, ask[string](two, text), "F501")
	require.Equal(t, "accepted", one.answered(func() { one.scanner(d.numbers["F501"]) }))
	two.until(text + `.includes('F501') && window.untouched`)
	require.Equal(t, "accepted", two.answered(func() { two.scanner(d.numbers["F502"]) }))
	one.until(text + `.includes('F502') && window.untouched`)
	require.Empty(t, append(one.complaints(), two.complaints()...))
}
