// Package pages serves what a person sees in a browser: one scan box for any station, a search for
// anything, and what a phone shows after a tag's QR. They are plain forms that work without script: a
// scanner types and presses Enter.
package pages

import (
	"bytes"
	"crypto/rand"
	"embed"
	"encoding/hex"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/press"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/tags/label"
	"tagd/internal/tags/symbol"
	"tagd/internal/web"
)

//go:embed templates static
var files embed.FS

// Options are what the pages show beside the record.
type Options struct {
	Open   bool        // the server may be reached from other machines while nobody signs on: say so
	Reader tags.Reader // understands what the plant's scanners type
	// Defaults are what a bar list means where it does not say it; Limits how large a bundle may be.
	Defaults barlist.Defaults
	Limits   barlist.Limits
	// LoadLimit is that of a load which does not say its own; 0 is not known.
	LoadLimit bar.Mass
	Host      string // the public address in the QR code of a tag
	// Field is what the pages after a tag's QR show.
	Field Field
	// Words are the plant's own.
	Words Words
}

type pages struct {
	server *web.Server
	photo  *symbol.Reader
	floor  *floor.Floor
	opt    Options
	all    *template.Template
	press  press.Press

	bendsMu sync.Mutex
	bends   map[string]*label.Bend // sketches, by size and shape
}

// Mount puts the pages on the server. A template that does not parse stops the program at once.
func Mount(s *web.Server, f *floor.Floor, opt Options) {
	p := &pages{server: s, floor: f, opt: opt, press: press.Press{Floor: f, Host: opt.Host}, photo: symbol.NewReader(1)}
	p.all = template.Must(template.New("").Funcs(template.FuncMap{
		"asset":   asset,
		"feet":    func(l bar.Length) string { return nearLength(l, f.Rules().Units) },
		"far":     func(lang scan.Lang, l bar.Length) template.HTML { return bigLength(lang, l, f.Rules().Units) },
		"weight":  func(m bar.Mass) template.HTML { return bigMass(m, f.Rules().Units) },
		"steel":   bigSteel,
		"mass":    func(m bar.Mass) string { return m.Text(f.Rules().Units) },
		"heats":   heat.Draw.Names,
		"t":       p.word,
		"counted": func(lang scan.Lang, n int, of string) string { return p.speak(lang).counted(n, of) },
		"figures": func(lang scan.Lang, n int, of string) template.HTML { return figure(p.speak(lang).counted(n, of)) },
		"when":    f.Rules().When,
		"bars":    p.barsText,
		"bends":   func(sh bar.Shape) string { return sh.Text(f.Rules().Units) },
		"path":    path,
		"leaves":  p.leaves,
		"say":     p.say,
		"losses":  func() []event.Loss { return scan.Losses },
		"tells":   func(e event.Event, lang scan.Lang) string { return scan.Tell(e, lang, f.Rules().Units) },
		"pair":    pair,
		"newkey":  newKey,
		"states":  func() []barlist.State { return barlist.States },
		"departs": p.departs,
		"weekday": p.weekday,
		"moment":  func(t time.Time) string { return f.Rules().When(t.UnixMilli()) },
		"minus":   func(m bar.Mass) bar.Mass { return -m },
		"stair": func(s scan.Sums) (out []scan.Sum) {
			for _, one := range stair {
				out = append(out, s[one.of])
			}
			return out
		},
		"nth": func(i int) int { return i + 1 },
		// What a template within a page is given: beside the language one thing, or one with another.
		"beside":  func(lang scan.Lang, of any) any { return struct{ Lang, Of any }{lang, of} },
		"besides": func(lang scan.Lang, of, with any) any { return struct{ Lang, Of, With any }{lang, of, with} },
		"number":  func(n tags.Number) string { return n.String() },
	}).Funcs(p.officeFuncs()).Funcs(p.qualityFuncs()).ParseFS(files, "templates/*.html"))
	s.Echo.Use(p.mark)
	s.Pages.GET("/static/*", p.static())
	s.Pages.GET("/sw.js", p.worker)
	s.Pages.GET("/live", p.live)
	s.Pages.GET("/", p.front)
	s.Pages.GET("/at/:station", p.station)
	s.Pages.POST("/at/:station", p.scan)
	s.Pages.POST("/at/:station/photo", p.snap)
	s.Pages.POST("/at/:station/receive", p.receiveAt)
	p.mountQuality(s)
	s.Pages.GET("/device", p.devicePage)
	s.Pages.POST("/device", p.setDevice)
	s.Pages.POST("/device/scanner", p.tryScanner)
	s.Pages.GET("/find", p.find)
	s.Pages.GET("/station/:station/runs", p.runs)
	s.Pages.POST("/station/:station/runs", p.mend)
	s.Pages.GET("/recall", p.recall)
	s.Pages.GET("/holds", p.holds)
	s.Pages.POST("/holds", p.putHold)
	s.Pages.POST("/holds/lift", p.liftHold)
	s.Pages.GET("/bundle/:number", p.bundle)
	s.Pages.POST("/bundle/:number/:deed", p.tell)
	s.Pages.GET("/board", p.board)
	s.Pages.GET("/open", p.open)
	s.Pages.POST("/open/:seq/resolve", p.resolve)
	p.office(s)
	s.LargeBodies("/at/:station/receive", "/at/:station/photo", "/loads/:number/:deed")
	s.Pages.GET("/loads", p.loads)
	s.Pages.POST("/loads", p.makeLoad)
	s.Pages.GET("/loads/plan", p.plan)
	s.Pages.POST("/loads/plan", p.planThem)
	s.Pages.GET("/loads/left", p.left)
	s.Pages.GET("/loads/:number", p.load)
	s.Pages.POST("/loads/:number/head", p.setHead)
	s.Pages.POST("/loads/:number/stop", p.setStop)
	s.Pages.POST("/loads/:number/move", p.moveBundles)
	s.Pages.POST("/loads/:number/:deed", p.tellLoad)
	s.Pages.GET("/claims", p.claims)
	s.Pages.POST("/claims/:claim/answer", p.answerClaim)
	s.Pages.GET("/T/*", p.field)
	s.Pages.GET("/t/*", p.field)
}

// face is how a page is laid out, and for whom: its frame, its style sheet and its script.
type face string

const (
	onFloor  face = "floor" // read at arm's length and more, worked in gloves
	inOffice face = "office"
	onBoard  face = "board" // read from ten metres
	inField  face = "field" // a phone beside the steel
)

// page is what every template gets.
type page struct {
	Title  string
	Lang   scan.Lang
	Face   face
	Sheet  string // the style sheet beside the shared one
	Target string // how large this device draws what is pressed, "" as the sheet says
	Other  string // the same page in the other language
	Open   bool
	Plant  string
	Clock  string // by the plant's time, as "14:05"
	Now    string // the same with date and zone (RFC 3339)
	Head   uint64 // the last record that it surely shows; 0 where it does not matter
	Crew   []string
	Nav    []goTo
	Answer string // of a station: the verdict on the scan that the page answers, or "ready"
	Data   any
}

// goTo is an entry of the way round the office pages.
type goTo struct {
	Path, Word string
	Here       string // what aria-current says of it: page, or true on a page below it
}

// nav is the way round as it stands on a page.
func nav(at string) []goTo {
	out := slices.Clone(ways)
	for i, w := range out {
		switch {
		case w.Path == at:
			out[i].Here = "page"
		case strings.HasPrefix(at, w.Path+"/"):
			out[i].Here = "true"
		}
	}
	return out
}

// render writes a page of the office.
func (p *pages) render(c echo.Context, name, title string, data any) error {
	return p.renderIn(c, inOffice, name, title, nil, data)
}

// renderIn writes a page from a buffer, so that a template that fails leaves no half page behind. The crew
// is of a station.
func (p *pages) renderIn(c echo.Context, f face, name, title string, crew []string, data any) error {
	lang := language(c)
	// A page that answers a form has an address that only takes forms: the other language is that of the page
	// which the form stood on.
	at := c.Request().URL
	if c.Request().Method != http.MethodGet {
		if from, err := url.Parse(c.Request().Referer()); err == nil && from.Host == c.Request().Host {
			at = from
		}
	}
	q := at.Query()
	q.Set("lang", string(otherThan(lang)))
	head, _ := c.Get(shown).(uint64)
	now := time.Now().In(p.floor.Rules().Zone)
	answer := "ready"
	if a, ok := data.(interface{ verdict() string }); ok {
		answer = a.verdict()
	}
	var b bytes.Buffer
	err := p.all.ExecuteTemplate(&b, name, page{
		Title: title, Lang: lang, Face: f, Sheet: string(f) + ".css", Target: pressed(c), Other: at.Path + "?" + q.Encode(), Open: p.opt.Open,
		Plant: p.floor.Rules().Name, Clock: now.Format("15:04"), Now: now.Format("2006-01-02T15:04-07:00"), Head: head, Crew: crew, Nav: nav(at.Path), Answer: answer, Data: data,
	})
	if err != nil {
		return err
	}
	return c.HTMLBlob(http.StatusOK, b.Bytes())
}

// pressed is how large this device draws what is pressed, as it was measured once against a bank card: the
// pixels of 15 mm, in steps of 8; "" where nobody measured.
func pressed(c echo.Context) string {
	k, err := c.Cookie("target")
	if err != nil || !slices.Contains(targets, k.Value) {
		return ""
	}
	return k.Value
}

// language is the one chosen by the switch, kept in a cookie, else the browser's.
func language(c echo.Context) scan.Lang {
	if of, ok := c.Get("lang").(string); ok { // of a badge that was just read
		return scan.Lang(of)
	}
	if choice := c.QueryParam("lang"); choice != "" {
		keep(c, "lang", choice)
	}
	return languageOf(c.Request())
}

// languageOf is the language of a request.
func languageOf(r *http.Request) scan.Lang {
	choice := r.URL.Query().Get("lang")
	if choice == "" {
		if k, err := r.Cookie("lang"); err == nil {
			choice = k.Value
		}
	}
	if choice == "" {
		choice = r.Header.Get("Accept-Language")
	}
	if strings.HasPrefix(strings.ToLower(choice), "es") {
		return scan.Spanish
	}
	return scan.English
}

// otherThan is the language that a page offers beside its own.
func otherThan(lang scan.Lang) scan.Lang {
	if lang == scan.Spanish {
		return scan.English
	}
	return scan.Spanish
}

// device is the browser's own name, given at its first visit.
func device(c echo.Context) string {
	if k, err := c.Cookie("device"); err == nil && k.Value != "" && len(k.Value) <= 40 {
		return k.Value
	}
	var b [6]byte
	_, _ = rand.Read(b[:]) // never fails (crypto/rand)
	id := "web-" + hex.EncodeToString(b[:])
	keep(c, "device", id)
	return id
}

func keep(c echo.Context, name, value string) {
	c.SetCookie(&http.Cookie{
		Name: name, Value: url.QueryEscape(value), Path: "/", MaxAge: 10 * 365 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteLaxMode,
	})
}

func newKey() string { return uuid.Must(uuid.NewV7()).String() }
