package pages

import (
	"fmt"
	"html/template"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/tags/label"
	"tagd/internal/view"
	"tagd/internal/web"
)

// bundlePage is a bundle with its history, and what an office may say of it.
type bundlePage struct {
	scan.Bundle
	Line     *scan.Line
	JobName  string
	Bend     *label.Bend // the sketch of its shape; nil for a straight bar
	BendText string      // its bends in words
	Mass     bar.Mass
	Stages   []scan.Stage
	Route    []string
	Where    view.Say
	Place    string // the link to where it is, "" for none
	Heats    heat.Draw
	Certs    []heatCert
	Drawn    bool
	Held     *heat.Hold
	Lots     []tags.Number
	History  []told
	Recorded int    // how much happened, in all
	Earlier  uint64 // the page of what happened before; 0: there is none
	Disputes int    // disputed scans among those
	Open     int    // things on the list to resolve
	Answer   *event.Answer
	Refused  string // what a form was not taken for
	deed     string // of that form
	form     url.Values
}

// heatCert is a heat of a bundle with what is on file for its size.
type heatCert struct {
	heat.Key
	sizeCert
}

// Typed is what was typed into a form that was not taken, so that nobody types it twice.
func (d bundlePage) Typed(deed, field string) string {
	if d.deed != deed {
		return ""
	}
	return d.form.Get(field)
}

// Opened says whether the form of a deed stands open: it was not taken.
func (d bundlePage) Opened(deed string) bool { return d.Refused != "" && d.deed == deed }

// told is an event of a history, with places by their names.
type told struct {
	Seq uint64
	event.Event
	At    int64
	Tells [2]string              // English, Spanish
	Names map[tags.Number]string // of people; on pages of quality only
}

// Who is one of the people: by name where names may be told, else by number.
func (t told) Who(i int) string {
	n := t.People[i]
	if name := t.Names[n]; name != "" {
		return name
	}
	return n.String()
}

// Tell is what happened in a language.
func (t told) Tell(lang scan.Lang) string {
	if lang == scan.Spanish {
		return t.Tells[1]
	}
	return t.Tells[0]
}

// Refusal says whether it is a scan that was not taken.
func (t told) Refusal() bool { return t.Answer != nil && t.Answer.Verdict == event.Refused }

// tellOf is an event as histories show it.
func tellOf(past *view.Past, seq uint64, u bar.Units) told {
	t := told{Seq: seq, Event: past.Event(seq)}
	if t.At = t.Happened; t.At == 0 {
		t.At = t.Recorded
	}
	for i, lang := range []scan.Lang{scan.English, scan.Spanish} {
		t.Tells[i] = placed(past, scan.Tell(t.Event, lang, u))
	}
	return t
}

// shownNumber fits numbers as they are shown.
var shownNumber = regexp.MustCompile(`\b[1-6]-\d{3}-\d{8}-\d{2}\b`)

// placed writes the names of places for their numbers.
func placed(past *view.Past, text string) string {
	return shownNumber.ReplaceAllStringFunc(text, func(s string) string {
		if n, err := tags.ParseNumber(s); err == nil && n.Kind() == tags.Place {
			if name, ok := past.Place(n); ok {
				return name
			}
		}
		return s
	})
}

// wants says whether a note wants a person.
func wants(n event.Note) bool { return scan.Sentences[n.Code].Verdict != event.Accepted }

// linked is a text whose numbers lead to what they name.
func linked(text string) template.HTML {
	var out strings.Builder
	for at := 0; ; {
		m := shownNumber.FindStringIndex(text[at:])
		if m == nil {
			out.WriteString(template.HTMLEscapeString(text[at:]))
			return template.HTML(out.String())
		}
		out.WriteString(template.HTMLEscapeString(text[at : at+m[0]]))
		s := text[at+m[0] : at+m[1]]
		if n, err := tags.ParseNumber(s); err == nil {
			out.WriteString(`<a class="id nowrap" href="` + addressOf(n) + `">` + s + `</a>`)
		} else {
			out.WriteString(s)
		}
		at += m[1]
	}
}

// addressOf is the page of a number.
func addressOf(n tags.Number) string {
	switch n.Kind() {
	case tags.Bundle:
		return "/bundle/" + n.String()
	case tags.Stock:
		return "/stock/" + n.String()
	case tags.Load:
		return "/loads/" + n.String()
	}
	return "/search?q=" + n.String()
}

// mostTold is how many of a bundle's events a page tells, and mostStaged how many are looked through for when it
// was how far.
const (
	mostTold   = 100
	mostStaged = 400
)

// deed is what a form of a bundle's page asks the floor for.
type deed func(p *pages, c echo.Context, o floor.Origin, n tags.Number) (floor.Receipt, error)

// deeds are the forms of a bundle's page, by the last part of their address.
var deeds = map[string]deed{
	"undo": func(p *pages, c echo.Context, o floor.Origin, n tags.Number) (floor.Receipt, error) {
		return p.floor.Undo(c.Request().Context(), o, n, c.FormValue("reason"))
	},
	"void": func(p *pages, c echo.Context, o floor.Origin, n tags.Number) (floor.Receipt, error) {
		return p.floor.Void(c.Request().Context(), o, n, c.FormValue("reason"))
	},
	"lost": func(p *pages, c echo.Context, o floor.Origin, n tags.Number) (floor.Receipt, error) {
		r := reader{c: c}
		loss := scan.Loss{Pieces: r.count("pieces"), Why: event.Loss(c.FormValue("why")), Note: c.FormValue("reason"), Settled: c.FormValue("settled") != ""}
		if r.err != nil {
			return floor.Receipt{}, r.err
		}
		return p.floor.Lose(c.Request().Context(), o, n, loss)
	},
	"split": func(p *pages, c echo.Context, o floor.Origin, n tags.Number) (floor.Receipt, error) {
		r := reader{c: c}
		pieces := r.counts("pieces")
		if r.err != nil {
			return floor.Receipt{}, r.err
		}
		return p.floor.Split(c.Request().Context(), o, n, pieces, c.FormValue("reason"))
	},
	"merge": func(p *pages, c echo.Context, o floor.Origin, n tags.Number) (floor.Receipt, error) {
		r := reader{c: c}
		m := scan.Merging{Into: n, From: r.numbers("from"), Reason: c.FormValue("reason"), Already: c.FormValue("already") != ""}
		if r.err != nil {
			return floor.Receipt{}, r.err
		}
		return p.floor.Merge(c.Request().Context(), o, m)
	},
	"tag-lost": func(p *pages, c echo.Context, o floor.Origin, n tags.Number) (floor.Receipt, error) {
		r := reader{c: c}
		copies := r.count("copy")
		if r.err != nil {
			return floor.Receipt{}, r.err
		}
		return p.floor.LoseTag(c.Request().Context(), o, n, copies, c.FormValue("reason"))
	},
	"assign": func(p *pages, c echo.Context, o floor.Origin, n tags.Number) (floor.Receipt, error) {
		bars, err := barsOf(c.FormValue("bars"))
		if err != nil {
			return floor.Receipt{}, err
		}
		return p.floor.Assign(c.Request().Context(), o, n, nil, bars)
	},
	"declare": func(p *pages, c echo.Context, o floor.Origin, n tags.Number) (floor.Receipt, error) {
		return p.floor.Declare(c.Request().Context(), o, event.HeatsDeclared{
			Bundle: n, Mill: c.FormValue("mill"), Heats: strings.Fields(strings.ReplaceAll(c.FormValue("heats"), ",", " ")), Paper: c.FormValue("paper"),
			Melted: c.FormValue("melted"), Rolled: c.FormValue("rolled"),
		})
	},
	"reassign": func(p *pages, c echo.Context, o floor.Origin, n tags.Number) (floor.Receipt, error) {
		instead := tags.Number(0)
		if text := strings.TrimSpace(c.FormValue("instead")); text != "" {
			var err error
			if instead, err = tags.ParseNumber(text); err != nil {
				return floor.Receipt{}, &event.Refusal{Field: "instead", Says: text + " is no number of a bundle"}
			}
		}
		field := func(name string) string { return strings.TrimSpace(c.FormValue(name)) }
		return p.floor.Reassign(c.Request().Context(), o, n, field("job"), field("list"), field("mark"), instead, c.FormValue("reason"))
	},
	"route": func(p *pages, c echo.Context, o floor.Origin, n tags.Number) (floor.Receipt, error) {
		return p.floor.SetRoute(c.Request().Context(), o, n, strings.Split(c.FormValue("steps"), ","), c.FormValue("reason"))
	},
}

// reader reads the numbers of a form, and keeps the first that is wrong.
type reader struct {
	c   echo.Context
	err error
}

func (r *reader) wrong(field, format string, args ...any) {
	if r.err == nil {
		r.err = &event.Refusal{Field: field, Says: fmt.Sprintf(format, args...)}
	}
}

// words are the words of a field, parted by blanks or commas.
func (r *reader) words(field string) []string {
	return strings.FieldsFunc(r.c.FormValue(field), func(c rune) bool { return c == ',' || c == ' ' })
}

// counts are the counts of a field.
func (r *reader) counts(field string) (out []int) {
	for _, w := range r.words(field) {
		n, err := strconv.Atoi(w)
		if err != nil {
			r.wrong(field, "%s is no count", w)
		}
		out = append(out, n)
	}
	return out
}

// count is the one count of a field, 0 of an empty one.
func (r *reader) count(field string) int {
	all := r.counts(field)
	switch {
	case len(all) == 0:
		return 0
	case len(all) > 1:
		r.wrong(field, "holds %d counts; write one", len(all))
	}
	return all[0]
}

// numbers are the numbers of a field.
func (r *reader) numbers(field string) (out []tags.Number) {
	for _, w := range r.words(field) {
		n, err := tags.ParseNumber(w)
		if err != nil {
			r.wrong(field, "%v", err)
		}
		out = append(out, n)
	}
	return out
}

// barsOf reads which lots bars are of, and how many of each.
func barsOf(text string) ([]event.Draw, error) {
	lots, bars, coils, err := fromLots(text)
	if err != nil || len(bars) == 0 || len(lots)+len(coils) > 0 {
		return nil, &event.Refusal{Field: "bars", Says: "are written as the lot's number, =, and how many: 2-001-00000001-16=40"}
	}
	return bars, nil
}

func noBundle(text string) error {
	return web.Refuse("not-found", "There is no bundle "+text+".", "Search for its mark, its job, or anything else that is on its tag.")
}

// bundle shows a bundle.
func (p *pages) bundle(c echo.Context) error { return p.showBundle(c, bundlePage{}) }

// tell takes a form of a bundle's page.
func (p *pages) tell(c echo.Context) error {
	n, err := tags.ParseNumber(c.Param("number"))
	do, ok := deeds[c.Param("deed")]
	if err != nil || !ok {
		return noBundle(c.Param("number"))
	}
	o, err := origin(c, c.Param("deed")+" "+n.String())
	if err != nil {
		return err
	}
	r, err := do(p, c, o, n)
	says, err := refusal(err)
	switch {
	case err != nil:
		return err
	case says == "" && r.Answer == nil:
		r.Answer = &event.Answer{}
	}
	d := bundlePage{Answer: r.Answer, Refused: says}
	if says != "" {
		d.deed, d.form = c.Param("deed"), c.Request().PostForm
	}
	return p.showBundle(c, d)
}

func (p *pages) showBundle(c echo.Context, d bundlePage) error {
	n, err := tags.ParseNumber(c.Param("number"))
	if err != nil {
		return noBundle(c.Param("number"))
	}
	before, _ := strconv.ParseUint(c.QueryParam("before"), 10, 63)
	known := false
	if err := p.floor.View(func(past *view.Past) error {
		if d.Bundle, known = past.Bundle(n); known {
			d.read(past, p.floor.Rules(), before)
		}
		return nil
	}); err != nil {
		return err
	}
	if !known {
		return noBundle(c.Param("number"))
	}
	if !d.Line.Shape.Straight() {
		d.Bend = p.bendOf(d.Line, p.floor.Rules().Units)
	}
	return p.render(c, "bundle.html", d.Line.Mark+" "+d.Name(), d)
}

// read reads what the page shows beside the bundle; before is the record that its history is before, 0 for none.
func (d *bundlePage) read(past *view.Past, rules scan.Rules, before uint64) {
	d.Line = past.Line(d.Bundle.Line)
	job, _ := past.Job(d.Line.Job)
	d.JobName = job.Name
	d.Mass, _ = bar.Weigh(d.Line.Steel.Size, d.Line.Length*bar.Length(d.Pieces))
	d.Route = d.Steps(d.Line)
	d.BendText = d.Line.Shape.Text(rules.Units)
	d.Where, d.Lots = view.Lies(past, d.Bundle, d.Line), scan.Drawn(past, d.Bundle)
	card, _ := scan.CardOf(past, rules, "", d.Number)
	d.Heats, d.Drawn, d.Held = card.Heats, card.Drawn, card.Held
	for _, k := range d.Heats.Heats {
		d.Certs = append(d.Certs, heatCert{k, certOf(past, k, d.Line.Steel.Size)})
	}
	for _, seq := range d.Looks {
		if past.Open(seq) {
			d.Open++
			if _, disputed := past.Event(seq).Body.(event.ScanDisputed); disputed {
				d.Disputes++
			}
		}
	}
	seqs := past.History(d.Number)
	d.Stages = stagesOf(past, d.Bundle, d.Line)
	d.Recorded = len(seqs)
	if i, ok := slices.BinarySearch(seqs, before); ok || before != 0 {
		seqs = seqs[:i]
	}
	if len(seqs) > mostTold {
		seqs = seqs[len(seqs)-mostTold:]
		d.Earlier = seqs[0]
	}
	for _, seq := range seqs {
		d.History = append(d.History, tellOf(past, seq, rules.Units))
	}
}
