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
	"io/fs"
	"net/http"
	"net/url"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
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
}

type pages struct {
	floor *floor.Floor
	opt   Options
	all   *template.Template
}

// Mount puts the pages on the server. A template that does not parse stops the program at once.
func Mount(s *web.Server, f *floor.Floor, opt Options) {
	p := &pages{floor: f, opt: opt}
	p.all = template.Must(template.New("").Funcs(template.FuncMap{
		"feet":    func(l bar.Length) string { return l.Text(f.Rules().Units) },
		"mass":    func(m bar.Mass) string { return m.Text(f.Rules().Units) },
		"heats":   heat.Draw.Names,
		"t":       word,
		"when":    f.Rules().When,
		"draw":    func(pt scan.Pattern, c scan.Card) drawing { return draw(pt, c, f.Rules().Units) },
		"bends":   func(sh bar.Shape) string { return sh.Text(f.Rules().Units) },
		"say":     say,
		"losses":  func() []event.Loss { return scan.Losses },
		"tells":   func(e event.Event, lang scan.Lang) string { return scan.Tell(e, lang, f.Rules().Units) },
		"pair":    pair,
		"newkey":  newKey,
		"states":  func() []barlist.State { return barlist.States },
		"departs": p.departs,
		"nth":     func(i int) int { return i + 1 },
		// What a template within a page is given: beside the language one thing, or one with another.
		"beside":  func(lang scan.Lang, of any) any { return struct{ Lang, Of any }{lang, of} },
		"besides": func(lang scan.Lang, of, with any) any { return struct{ Lang, Of, With any }{lang, of, with} },
		"number":  func(n tags.Number) string { return n.String() },
	}).ParseFS(files, "templates/*.html"))
	static, err := fs.Sub(files, "static")
	if err != nil {
		panic(err) // the folder is embedded above
	}
	s.Pages.GET("/static/*", echo.WrapHandler(http.StripPrefix("/static/", http.FileServerFS(static))))
	s.Pages.GET("/", p.front)
	s.Pages.GET("/at/:station", p.station)
	s.Pages.POST("/at/:station", p.scan)
	s.Pages.GET("/search", p.search)
	s.Pages.GET("/find", p.find)
	s.Pages.GET("/station/:station/runs", p.runs)
	s.Pages.POST("/station/:station/runs", p.mend)
	s.Pages.GET("/recall", p.recall)
	s.Pages.GET("/holds", p.holds)
	s.Pages.POST("/holds", p.putHold)
	s.Pages.POST("/holds/lift", p.liftHold)
	s.Pages.GET("/bundle/:number", p.bundle)
	s.Pages.POST("/bundle/:number/:deed", p.tell)
	s.Pages.GET("/open", p.open)
	s.Pages.POST("/open/:seq/resolve", p.resolve)
	s.Pages.GET("/lists", p.lists)
	s.Pages.POST("/lists", p.takeList)
	s.Pages.GET("/stock", p.stock)
	s.Pages.POST("/stock/:deed", p.tellStock)
	s.LargeBodies("/lists", "/stock/:deed", "/loads/:number/:deed")
	s.Pages.GET("/loads", p.loads)
	s.Pages.POST("/loads", p.makeLoad)
	s.Pages.GET("/loads/:number", p.load)
	s.Pages.POST("/loads/:number", p.replan)
	s.Pages.POST("/loads/:number/:deed", p.tellLoad)
	s.Pages.GET("/claims", p.claims)
	s.Pages.POST("/claims/:claim/answer", p.answerClaim)
	s.Pages.GET("/T/*", p.field)
	s.Pages.GET("/t/*", p.field)
}

// page is what every template gets.
type page struct {
	Title string
	Lang  scan.Lang
	Other string // the same page in the other language
	Open  bool
	Plant string
	Data  any
}

// render writes a page from a buffer, so that a template that fails leaves no half page behind.
func (p *pages) render(c echo.Context, name, title string, data any) error {
	lang := language(c)
	other := scan.Spanish
	if lang == scan.Spanish {
		other = scan.English
	}
	q := c.Request().URL.Query()
	q.Set("lang", string(other))
	var b bytes.Buffer
	err := p.all.ExecuteTemplate(&b, name, page{
		Title: title, Lang: lang, Other: c.Request().URL.Path + "?" + q.Encode(), Open: p.opt.Open,
		Plant: p.floor.Rules().Name, Data: data,
	})
	if err != nil {
		return err
	}
	return c.HTMLBlob(http.StatusOK, b.Bytes())
}

// language is the one chosen by the switch, kept in a cookie, else the browser's.
func language(c echo.Context) scan.Lang {
	choice := c.QueryParam("lang")
	if choice == "" {
		if k, err := c.Cookie("lang"); err == nil {
			choice = k.Value
		}
	} else {
		keep(c, "lang", choice)
	}
	if choice == "" {
		choice = c.Request().Header.Get("Accept-Language")
	}
	if strings.HasPrefix(strings.ToLower(choice), "es") {
		return scan.Spanish
	}
	return scan.English
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

// sentence is a note in a language.
type sentence struct{ Says, Next string }

func say(n event.Note, lang scan.Lang) sentence {
	says, next := scan.Say(n, lang)
	return sentence{says, next}
}
