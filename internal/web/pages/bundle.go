package pages

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
	"tagd/internal/web"
)

// bundlePage is a bundle with its history, and what an office may say of it.
type bundlePage struct {
	scan.Bundle
	Line    *scan.Line
	Route   []string
	Where   string
	Heats   heat.Draw
	Drawn   bool
	Held    *heat.Hold
	Lots    []tags.Number
	History []told
	Answer  *event.Answer
	Refused string // what a form was not taken for
}

// told is an event of a history.
type told struct {
	Seq uint64
	event.Event
}

// mostTold is how many of a bundle's newest events its page tells.
const mostTold = 100

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
func (p *pages) bundle(c echo.Context) error { return p.showBundle(c, nil, "") }

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
	return p.showBundle(c, r.Answer, says)
}

func (p *pages) showBundle(c echo.Context, a *event.Answer, refused string) error {
	n, err := tags.ParseNumber(c.Param("number"))
	if err != nil {
		return noBundle(c.Param("number"))
	}
	d := bundlePage{Answer: a, Refused: refused}
	known := false
	if err := p.floor.View(func(past *view.Past) error {
		if d.Bundle, known = past.Bundle(n); !known {
			return nil
		}
		d.Line = past.Line(d.Bundle.Line)
		d.Route = d.Steps(d.Line)
		d.Where, d.Lots = view.Where(past, d.Bundle, d.Line), scan.Drawn(past, d.Bundle)
		card, _ := scan.CardOf(past, p.floor.Rules(), "", n)
		d.Heats, d.Drawn, d.Held = card.Heats, card.Drawn, card.Held
		seqs := past.History(n)
		for _, seq := range slices.Backward(seqs[max(0, len(seqs)-mostTold):]) {
			d.History = append(d.History, told{seq, past.Event(seq)})
		}
		return nil
	}); err != nil {
		return err
	}
	if !known {
		return noBundle(c.Param("number"))
	}
	return p.render(c, "bundle.html", d.Line.Mark+" "+d.Name(), d)
}
