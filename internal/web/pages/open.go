package pages

import (
	"net/url"
	"strconv"

	"github.com/labstack/echo/v4"

	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
	"tagd/internal/web"
)

// openPage is the list to resolve, or a page of it.
type openPage struct {
	Items    []openItem
	Next     string // query of the next page; "" at the end
	Offices  []scan.Office
	Stations []scan.Station
	// What is asked for.
	Office, Station, Bundle string
	Disputed                bool

	Answer  *event.Answer
	Refused string // what a form was not taken for
}

// openItem is a thing on the list to resolve.
type openItem struct {
	Seq      uint64
	Kind     string
	Disputed bool
	Number   tags.Number
	About    string
	Recorded int64
	Happened int64
	Station  string
	Device   string
	Notes    []event.Note // that want a person
	Office   scan.Office
	How      []string
}

// mostOpen is how many things a page of the list shows, and mostSifted how many it looks at for them.
const (
	mostOpen   = 50
	mostSifted = 5000
)

func (p *pages) open(c echo.Context) error { return p.showOpen(c, nil, "") }

// resolve settles what a form says.
func (p *pages) resolve(c echo.Context) error {
	seq, err := strconv.ParseUint(c.Param("seq"), 10, 64)
	if err != nil {
		return web.Refuse("not-found", "There is no record "+c.Param("seq")+".", "Look at the list to resolve.")
	}
	o, err := origin(c, "resolve "+c.Param("seq"))
	if err != nil {
		return err
	}
	r := reader{c: c}
	x := scan.Settling{Seq: seq, Reason: c.FormValue("reason"), Took: c.FormValue("took") != "", Pieces: r.count("pieces"), Lots: r.numbers("lots"), Reader: p.opt.Reader}
	var person tags.Number
	if badges := r.numbers("person"); len(badges) > 0 {
		person = badges[0]
	}
	var got floor.Receipt
	if err = r.err; err == nil {
		got, err = p.floor.Resolve(c.Request().Context(), o, person, x)
	}
	says, err := refusal(err)
	if err != nil {
		return err
	}
	return p.showOpen(c, got.Answer, says)
}

func (p *pages) showOpen(c echo.Context, a *event.Answer, refused string) error {
	lang := language(c)
	d := openPage{
		Offices: scan.Offices, Stations: p.floor.Rules().Stations, Answer: a, Refused: refused,
		Office: c.QueryParam("office"), Station: c.QueryParam("station"), Bundle: c.QueryParam("bundle"), Disputed: c.QueryParam("disputed") != "",
	}
	bundle, _ := tags.ParseNumber(d.Bundle)
	before, _ := strconv.ParseUint(c.QueryParam("before"), 10, 64)
	err := p.floor.View(func(past *view.Past) error {
		looked, last := 0, uint64(0)
		past.OpenBefore(before, func(seq uint64) bool {
			if len(d.Items) == mostOpen || looked == mostSifted {
				d.Next = url.Values{"before": {strconv.FormatUint(last, 10)}, "office": {d.Office}, "station": {d.Station}, "bundle": {d.Bundle}}.Encode()
				if d.Disputed {
					d.Next += "&disputed=1"
				}
				return false
			}
			looked, last = looked+1, seq
			e := past.Event(seq)
			one := openItem{
				Seq: seq, Kind: e.Body.Kind().String(), Number: past.SubjectOf(seq), Recorded: e.Recorded, Happened: e.Happened,
				Station: e.Station, Device: e.Device, Office: scan.Who(*e.Answer), How: scan.How(*e.Answer, lang),
			}
			_, one.Disputed = e.Body.(event.ScanDisputed)
			if d.Office != "" && d.Office != string(one.Office) || d.Station != "" && d.Station != one.Station || d.Disputed && !one.Disputed ||
				d.Bundle != "" && one.Number != bundle {
				return true
			}
			one.About = p.about(lang, past, one.Number, e)
			for _, n := range e.Answer.Notes {
				if scan.Sentences[n.Code].Verdict != event.Accepted {
					one.Notes = append(one.Notes, n)
				}
			}
			d.Items = append(d.Items, one)
			return true
		})
		return nil
	})
	if err != nil {
		return err
	}
	return p.render(c, "open.html", p.word(lang, "to resolve"), d)
}
