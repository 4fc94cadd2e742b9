package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"tagd/api"
	"tagd/internal/plant"
)

// shopFloor plays the scans of a story in the pages: at each station a browser of its own stands open, a scanner
// types into it, and what a scanner cannot say is said by the page's controls.
type shopFloor struct {
	*testing.T
	url      string
	stations map[string]*stationTab
	plain    bool // their scripts are off
}

type stationTab struct {
	*tab
	story time.Time            // of the last scan, as the story has it
	read  map[string]time.Time // when each code was read last
}

// pause is the least that a plant may set for two reads of one trigger: who means a second one waits so long.
const pause = 500 * time.Millisecond

// quick are settings under which a story may be played fast.
func quick(settings string) string {
	return strings.NewReplacer(`pause = "3s"`, `pause = "`+pause.String()+`"`, `least = "20s"`, `least = "0s"`, `repeat = "1m"`, `repeat = "0s"`).Replace(settings)
}

// scan types a scan into the page of its station, and gives the verdict that the page shows.
func (f *shopFloor) scan(_ context.Context, s api.Scan) (api.ScanAnswer, error) {
	b := f.stations[s.Station]
	if b == nil {
		b = &stationTab{tab: newTab(f.T, f.url), read: map[string]time.Time{}}
		b.scripts(!f.plain)
		b.open("/at/" + s.Station)
		f.stations[s.Station] = b
	}
	if s.At.Sub(b.story) != time.Second { // else it is the second pull of one trigger
		time.Sleep(time.Until(b.read[s.Code].Add(pause + pause/10)))
	}
	var verdict string
	if s.Do == "ship" { // a page asks whether it leaves
		b.reach(`[href$="leave=1"]`)
		b.do(chromedp.Click(chromedp.CSS(control(`[href$="leave=1"]`))))
		b.until(`document.querySelector('#leave')`)
		verdict = b.answered(func() { b.do(chromedp.Click(chromedp.CSS("#leave button.main"))) })
	} else {
		verdict = b.answered(func() { b.enter(s) })
	}
	b.story, b.read[s.Code] = s.At, time.Now()
	if said := b.complaints(); len(said) > 0 {
		return api.ScanAnswer{}, fmt.Errorf("%s: the console says %q", s.Station, said)
	}
	return api.ScanAnswer{Verdict: verdict, Notes: []api.Note{{Says: ask[string](b.tab, `document.querySelector('main#work .answer, main#work .stop').innerText`)}}}, nil
}

// enter fills the form of a station as a person with a scanner does: what is to be said beside the code first, then
// the code. The scan box has the focus, with no click.
func (b *tab) enter(s api.Scan) {
	b.Helper()
	if s.Pieces == 0 && s.Feed == "" && s.Do == "" {
		require.Equal(b, "code", ask[string](b, `document.activeElement.id`), "the scan box has the focus")
		b.scanner(s.Code)
		return
	}
	if s.Pieces != 0 {
		b.reach(`[name=pieces]`)
		b.do(chromedp.SendKeys(chromedp.CSS(control(`[name=pieces]`)), strconv.Itoa(s.Pieces)))
	}
	if s.Feed != "" {
		b.reach(`[name=feed]`)
		b.do(chromedp.SetValue(chromedp.CSS(control(`[name=feed]`)), s.Feed))
	}
	b.do(chromedp.Focus(chromedp.CSS(`#code`)))
	if s.Do == "" {
		b.scanner(s.Code)
		return
	}
	b.do(chromedp.KeyEvent(s.Code))
	key := `button[name=do][value="` + s.Do + `"]`
	b.reach(key)
	b.do(chromedp.Click(chromedp.CSS(control(key))))
}

// control finds a control of the scan form, which stands in it or elsewhere on the page.
func control(name string) string { return "#scan " + name + ", " + name + "[form=scan]" }

// reach opens what a control of the scan form is folded into.
func (b *tab) reach(name string) {
	b.Helper()
	folded := `(() => { const e = document.querySelector(` + quoted(control(name)) + `); const d = e?.closest('details:not([open])'); if (d) d.id ||= 'folded'; return d?.id ?? '' })()`
	for {
		id := ask[string](b, folded)
		if id == "" {
			return
		}
		b.do(chromedp.Click(chromedp.CSS("#" + id + " > summary")))
		b.until(`document.getElementById(` + quoted(id) + `).open`)
	}
}

var moment = regexp.MustCompile(`"\d{4}-\d\d-\d\d(T[^"]*)?"`)

// stated is an answer of the API as text, without days and moments.
func stated(t *testing.T, v any, err error) string {
	t.Helper()
	require.NoError(t, err)
	b, err := json.MarshalIndent(v, "", " ")
	require.NoError(t, err)
	return string(moment.ReplaceAll(b, []byte(`"then"`)))
}

// TestTheDaysThroughThePages: the two days of the demo's shop, with every scan that a person makes typed by a scanner
// into the station's page in a browser, are answered as the story needs, and end as the same days that were driven
// through the API: what a heat went into, whom a recall reaches, where its steel is, the stock and the loads.
func TestTheDaysThroughThePages(t *testing.T) {
	chromium(t)
	program := sharedShop(t, demoShop)
	sh, err := startShop("pages", quick(string(plant.Default("")))+demoStations)
	require.NoError(t, err)
	out := filepath.Join(t.TempDir(), "out")
	require.NoError(t, os.MkdirAll(filepath.Join(out, "tags"), 0o755))
	var story bytes.Buffer
	d := newDay(context.Background(), sh.url, out, &story)
	floor := &shopFloor{T: t, url: sh.url, stations: map[string]*stationTab{}}
	d.scans = floor.scan
	d.tick = func(time.Time) time.Time { return time.Now() } // the pages have no other clock
	require.NoError(t, d.run(), &story)
	require.Len(t, floor.stations, 7)

	ctx := context.Background()
	ends := func(url string) string {
		c := &api.Client{Base: url}
		heat := stockBought[0].heat
		var b strings.Builder
		for after := int64(0); ; {
			page, err := c.Journal(ctx, after, 1000)
			require.NoError(t, err)
			for _, e := range page.Events {
				b.WriteString(e.Kind + "\n")
			}
			if len(page.Events) == 0 {
				break
			}
			after = int64(page.Events[len(page.Events)-1].Seq)
		}
		trace, err := c.Trace(ctx, heat)
		b.WriteString(stated(t, trace, err))
		recall, err := c.Recall(ctx, heat, "")
		b.WriteString(stated(t, recall, err))
		account, err := c.Account(ctx, heat, "")
		b.WriteString(stated(t, account, err))
		stock, err := c.Stock(ctx, api.StockFilter{}, "", 100)
		b.WriteString(stated(t, stock, err))
		loads, err := c.Loads(ctx, api.LoadFilter{}, "", 100)
		b.WriteString(stated(t, loads, err))
		return b.String()
	}
	require.Equal(t, ends(program.url), ends(sh.url))
	exe, err := build()
	require.NoError(t, err)
	said, err := exec.Command(exe, "check", "--data", string(sh.data)).CombinedOutput()
	require.NoError(t, err, string(said))
}
