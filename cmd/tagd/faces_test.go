package main

import (
	_ "embed" // the check of what fits
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"tagd/internal/plant"
	"tagd/internal/web"
)

// A face is a page in a state that people meet, in any of the shops. In paths and scans, {load} is what the shop
// calls so. What is scanned changes nothing, so that a page can be opened again and again.
type face struct {
	name  string
	path  string
	scan  string // typed into the page of a station, if anything
	do    string // the key that is pressed instead of Enter
	fresh bool   // the device is new to the server
	floor bool   // for gloves
	board bool
	act   func(b *tab, sh *shopUp) // what else is done on the page
}

// faces are all pages: what is tried on every page, and what make shots takes, is of this table.
var faces = []face{
	{name: "front", path: "/"},
	{name: "sign-on", path: "/at/B1", fresh: true, floor: true},
	{name: "device", path: "/device", floor: true},
	{name: "cut", path: "/at/S1", floor: true},
	{name: "cut-card", path: "/at/S1", scan: "{begun}", do: "show", floor: true},
	{name: "cut-refused", path: "/at/S1", scan: "1-001-00000042-06", floor: true},
	{name: "cut-other", path: "/at/S2", floor: true},
	{name: "cut-coil", path: "/at/C1", floor: true},
	{name: "bend", path: "/at/B1", floor: true},
	{name: "bend-card", path: "/at/B1", scan: "{bent}", do: "show", floor: true},
	{name: "loadout", path: "/at/L1", floor: true},
	{name: "loadout-load", path: "/at/L1", scan: "{load}", floor: true},
	{name: "loadout-refused", path: "/at/L1", scan: "{wrong}", floor: true},
	{name: "receiving", path: "/at/R1", floor: true},
	{name: "receiving-unknown", path: "/at/R1", scan: "1T0099887", floor: true},
	{name: "receiving-typed", path: "/at/R1?new=1&badge=none", floor: true},
	{name: "loadout-leaves", path: "/at/L1?leave=1&badge=none", floor: true},
	{name: "yard", path: "/at/Y1", floor: true},
	{name: "yard-found", path: "/at/Y1", scan: "{bundle}", floor: true},
	{name: "runs", path: "/station/S1/runs"},
	{name: "trucks", path: "/loads"},
	{name: "load", path: "/loads/{load}"},
	{name: "load-gone", path: "/loads/{gone}"},
	{name: "plan", path: "/loads/plan?job={job}&list={list}"},
	{name: "left", path: "/loads/left"},
	{name: "claims", path: "/claims"},
	{name: "jobs", path: "/jobs"},
	{name: "job", path: "/jobs/{job}"},
	{name: "lists", path: "/lists"},
	{name: "tags", path: "/tags?job={job}&show=all"},
	{name: "tags-lots", path: "/tags?what=stock&show=all"},
	{name: "tags-badges", path: "/tags?what=badges"},
	{name: "lists-look", path: "/lists", act: func(b *tab, sh *shopUp) { b.lookAtList(sh) }},
	{name: "tags-ask", path: "/tags"},
	{name: "tags-list", path: "/tags?job={job}&list={list}"},
	{name: "stock", path: "/stock"},
	{name: "lot", path: "/stock/{lot}"},
	{name: "places", path: "/places"},
	{name: "find", path: "/find?q={query}"},
	{name: "search", path: "/search?q={job}/{list}"},
	{name: "search-none", path: "/search?q=zz"},
	{name: "heat", path: "/search?q={heat}"},
	{name: "quality", path: "/quality?days=3660"},
	{name: "hold", path: "/holds?what={heat}"},
	{name: "heat-long", path: "/heat/{mill}/{heat}"},
	{name: "heat-asked", path: "/heat?mill={mill}&heat={heat}"},
	{name: "recall", path: "/recall?q={heat}"},
	{name: "bundle", path: "/bundle/{bundle}"},
	{name: "holds", path: "/holds"},
	{name: "open", path: "/open"},
	{name: "board", path: "/board", board: true},
	{name: "field", path: "/T/{digits}"},
	{name: "problem", path: "/at/S9"},
}

var named = regexp.MustCompile(`\{[^}]+\}`)

// of puts what a shop calls so into a text.
func (sh *shopUp) of(text string) string {
	return named.ReplaceAllStringFunc(text, func(name string) string {
		name = strings.Trim(name, "{}")
		if name == "digits" {
			return strings.ReplaceAll(sh.numbers["bundle"], "-", "")
		}
		if _, ok := sh.numbers[name]; !ok {
			panic("the shop has no " + name)
		}
		return sh.numbers[name]
	})
}

// show opens a face in a language, and scans what it shows.
func (b *tab) show(sh *shopUp, f face, lang string) {
	b.Helper()
	path := named.ReplaceAllStringFunc(f.path, func(n string) string { return url.PathEscape(sh.of(n)) })
	mark := "?"
	if strings.Contains(path, "?") {
		mark = "&"
	}
	if f.fresh {
		b.call(network.ClearBrowserCookies.Method, nil)
	}
	b.call(network.SetCookie.Method, network.SetCookieParams{Name: "lang", Value: lang, URL: b.url}) // an address may lead on to another
	b.open(path + mark + "lang=" + lang)
	if f.act != nil {
		f.act(b, sh)
	}
	switch code := sh.of(f.scan); {
	case f.do != "":
		b.answered(func() {
			b.do(chromedp.KeyEvent(code))
			ask[bool](b, `(() => { document.querySelector("#scan button[name=do][value=`+f.do+`]").click(); return true })()`)
		})
	case code != "":
		b.answered(func() { b.scanner(code) })
	}
}

// lookAtList gives a bar list with faults and changes to the page of lists, and looks at what it would do.
func (b *tab) lookAtList(sh *shopUp) {
	b.Helper()
	path := filepath.Join(b.TempDir(), "list.csv")
	list := "job,list,mark,size,length,pieces\n" +
		strings.Join([]string{sh.numbers["job"], sh.numbers["list"], "F501", "#5", "30'-6", "9"}, ",") + "\n" +
		strings.Join([]string{sh.numbers["job"], sh.numbers["list"], longMark, "10", "59'-11 63/64", "many"}, ",") + "\n"
	require.NoError(b, os.WriteFile(path, []byte(list), 0o644))
	b.do(chromedp.SetUploadFiles(chromedp.CSS("form[action='/lists'] input[type=file]"), []string{path}))
	ask[bool](b, `(window.before = true, document.querySelector("form[action='/lists'] input[type=file]").form.querySelector('button').click(), true)`)
	b.until("!window.before")
}

// widths are those that the pages are tried at: a phone held upright, small and usual, a tablet, and two PCs.
var widths = []struct{ w, h int64 }{{320, 640}, {390, 844}, {1024, 768}, {1280, 800}, {1920, 1080}}

//go:embed testdata/fits.js
var fits string

// tooSmall is 15 mm on the tablet of the floor, in CSS pixels, less half a millimetre.
const tooSmall = 70

// unfit is what does not fit on the page at any width.
func (b *tab) unfit(f face) []string {
	b.Helper()
	var found []string
	for _, s := range widths {
		if f.board && s.w < 1280 {
			continue
		}
		b.size(s.w, s.h)
		least := 0
		if f.floor && s.w >= 1024 {
			least = tooSmall
		}
		for _, x := range ask[[]string](b, fmt.Sprintf("(%s)(%d)", fits, least)) {
			found = append(found, fmt.Sprintf("at %d: %s", s.w, x))
		}
		if s.w == 1024 && f.floor && ask[bool](b, "document.documentElement.scrollHeight > innerHeight") {
			found = append(found, "at 1024: the scan box is not on the screen")
		}
	}
	b.size(1024, 768)
	return found
}

// judged opens a face in both languages, and gives what is wrong with it.
func (b *tab) judged(sh *shopUp, f face) []string {
	b.Helper()
	var found []string
	add := func(where string, what []string) {
		for _, w := range what {
			found = append(found, where+": "+w)
		}
	}
	for _, lang := range []string{"en", "es"} {
		b.scheme("light")
		b.show(sh, f, lang)
		add("axe "+lang, b.axe())
		add("fit "+lang, b.unfit(f))
		b.scheme("dark") // only colours differ
		add("axe "+lang+" dark", b.axe("color-contrast"))
		said := b.complaints()
		if f.name == "problem" {
			said = without(said, "status of 404")
		}
		add("console "+lang, said)
	}
	return found
}

// chosen are all faces, or those that TAGD_FACES, a regular expression, names: for who works on one of them.
func chosen(t testing.TB) []face {
	only, err := regexp.Compile(os.Getenv("TAGD_FACES"))
	require.NoError(t, err)
	return slices.DeleteFunc(slices.Clone(faces), func(f face) bool { return !only.MatchString(f.name) })
}

// TestFaces: on every page, in both languages and both colour schemes, axe-core (the accessibility rules of WCAG 2.2
// AA that a program can try) finds nothing; nothing overlaps, is cut off, or runs out of the window at any width;
// what is pressed in gloves is large enough; and the browser has nothing to complain of, as something that the
// content security policy stopped. Once with the demo's shop, once with the longest values of a real one.
func TestFaces(t *testing.T) {
	chromium(t)
	for _, shop := range []struct {
		name  string
		start func() (*shopUp, error)
	}{{"demo", demoShop}, {"long", longShop}} {
		t.Run(shop.name, func(t *testing.T) {
			t.Parallel()
			sh := sharedShop(t, shop.start)
			var report []string
			b := newTab(t, sh.url)
			for _, f := range chosen(t) {
				found := b.judged(sh, f)
				slices.Sort(found)
				for _, x := range slices.Compact(found) {
					report = append(report, shop.name+" "+f.name+": "+x)
				}
			}
			if to := os.Getenv("TAGD_FINDINGS"); to != "" {
				require.NoError(t, os.WriteFile(to+"-"+shop.name+".txt", []byte(strings.Join(report, "\n")+"\n"), 0o644))
				return
			}
			require.Empty(t, report)
		})
	}
}

// TestEveryPageHasAFace: no page is left out of the table.
func TestEveryPageHasAFace(t *testing.T) {
	dir := folder(t.TempDir())
	_, err := dir.beginWith(plant.Default(""))
	require.NoError(t, err)
	sh, err := dir.open(streams{out: io.Discard, err: io.Discard}, slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	defer sh.Close()
	server, err := sh.server(web.Options{})
	require.NoError(t, err)
	for _, r := range server.Echo.Routes() {
		if r.Method != http.MethodGet || strings.HasPrefix(r.Path, "/api/") || slices.Contains(noPages, r.Path) {
			continue
		}
		like := regexp.MustCompile("^" + regexp.MustCompile(`:\w+|\*`).ReplaceAllString(r.Path, "[^/]+") + "$")
		require.True(t, slices.ContainsFunc(faces, func(f face) bool {
			path, _, _ := strings.Cut(f.path, "?")
			return like.MatchString(path)
		}), "%s has no face", r.Path)
	}
}

// noPages are the addresses that give no page to look at.
var noPages = []string{"/static/*", "/sw.js", "/live", "/healthz", "/metrics", "/openapi.json", "/tags/sheet", "/t/*"}

// TestTheCheckSeesWhatIsWrong: the check of what fits finds what it is for, so that its silence means something.
func TestTheCheckSeesWhatIsWrong(t *testing.T) {
	b := newTab(t, "")
	for _, c := range []struct{ html, want string }{
		{`<p>fits</p><button style="width:80px;height:80px">big</button>`, ""},
		{`<p style="width:3000px">wide</p>`, "px wide"},
		{`<p style="position:absolute;top:9px">one text here</p><p style="position:absolute;top:9px">another</p>`, "lies on"},
		{`<p style="overflow:hidden;width:50px;white-space:nowrap">cut off at the side</p>`, "cuts its text off at the side"},
		{`<p style="overflow:hidden;height:9px">cut off</p>`, "cuts its text off below"},
		{`<button style="width:40px;height:40px">small</button>`, "40 × 40 px only"},
	} {
		text, err := json.Marshal(c.html)
		require.NoError(t, err)
		ask[bool](b, "(document.body.innerHTML = "+string(text)+", true)")
		found := strings.Join(ask[[]string](b, "("+fits+")(70)"), "\n")
		if c.want == "" {
			require.Empty(t, found, c.html)
		}
		require.Contains(t, found, c.want, c.html)
	}
}

// TestShots takes a picture of every page where make shots says, to be looked at.
func TestShots(t *testing.T) {
	to := os.Getenv("TAGD_SHOTS")
	if to == "" {
		t.Skip("make shots takes them")
	}
	chromium(t)
	require.NoError(t, os.MkdirAll(to, 0o755))
	for name, start := range map[string]func() (*shopUp, error){"": demoShop, "long-": longShop} {
		sh := sharedShop(t, start)
		b := newTab(t, sh.url)
		for _, f := range chosen(t) {
			for _, s := range []struct {
				as, lang, scheme string
				w, h             int64
			}{
				{"phone", "en", "light", 390, 844}, {"tablet", "en", "light", 1024, 768}, {"pc", "en", "light", 1920, 1080},
				{"dark", "en", "dark", 1024, 768}, {"es", "es", "light", 1024, 768}, {"4k", "en", "light", 3840, 2160},
			} {
				if (s.as == "4k") != f.board && (s.as == "4k" || f.board && s.w < 1024) {
					continue
				}
				b.size(s.w, s.h)
				b.scheme(s.scheme)
				b.show(sh, f, s.lang)
				require.NoError(t, os.WriteFile(filepath.Join(to, name+f.name+"-"+s.as+".png"), b.picture(), 0o644))
			}
		}
	}
}
