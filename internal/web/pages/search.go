package pages

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// searchPage is what goes by a text, and what belongs to it.
type searchPage struct {
	Asked  string
	Kinds  []foundKind
	Why    *event.Note // why a number is none of ours
	Near   []foundKind // where nothing goes by the text
	Traced bool
	view.Trace
	Mass    bar.Mass // of the bundles
	Certain int
}

// foundKind is what was found of a kind.
type foundKind struct {
	Kind string
	Hits []foundHit
}

// foundHit is a thing that was found, with its page.
type foundHit struct {
	view.Hit
	Address string
	Says    view.Say // what it is, beside its name
}

// search goes to the page of what goes by a text; where that are several things, it lists them.
func (p *pages) search(c echo.Context) error {
	d := searchPage{Asked: strings.TrimSpace(c.QueryParam("q"))}
	to := ""
	err := p.floor.View(func(past *view.Past) error {
		hits := past.Search(d.Asked, p.opt.Reader)
		if to = onePage(past, hits); to != "" {
			return nil
		}
		d.Kinds = kindsOf(past, hits)
		if len(hits) == 0 {
			d.Near = kindsOf(past, past.Near(d.Asked))
			d.Why = p.whyNone(d.Asked)
			return nil
		}
		d.trace(past, hits)
		return nil
	})
	switch {
	case err != nil:
		return err
	case to != "":
		return c.Redirect(http.StatusSeeOther, to)
	}
	return p.render(c, "search.html", d.Asked, d)
}

// trace adds the bundles of jobs, lists and marks, and all that belongs to them.
func (d *searchPage) trace(past *view.Past, hits []view.Hit) {
	for _, h := range hits {
		d.Traced = d.Traced || h.Job != ""
	}
	if !d.Traced {
		return
	}
	d.Trace = past.Ask(d.Asked)
	for _, b := range d.Bundles {
		d.Mass += b.Mass
		if b.Drawn && b.Heats.Certainty == heat.Certain {
			d.Certain++
		}
	}
}

// whyNone says what is wrong with a text that looks like a number of ours.
func (p *pages) whyNone(text string) *event.Note {
	read, err := p.opt.Reader.Read(text)
	note := func(code string, args ...any) *event.Note {
		n := event.Note{Code: code}
		for _, a := range args {
			n.Args = append(n.Args, fmt.Sprint(a))
		}
		return &n
	}
	switch n := read.Number; {
	case errors.Is(err, tags.ErrTwoNumbers):
		return note("two tags")
	case errors.Is(err, tags.ErrMistyped):
		return note("mistyped", read.Text)
	case n != 0 && n.Plant() != p.floor.Rules().Plant:
		return note("another plant", n, n.Plant())
	case n != 0:
		return note("not known", n)
	}
	return nil
}

// onePage is the page of what was found, where that is one thing.
func onePage(past *view.Past, hits []view.Hit) string {
	to := ""
	for _, h := range hits {
		at := pageOf(past, h)
		if at == "" || to != "" && at != to {
			return ""
		}
		to = at
	}
	return to
}

// pageOf is the page of a hit, "" where it has none of its own.
func pageOf(past *view.Past, h view.Hit) string {
	switch h.Kind {
	case "heat", "cert":
		return heatAt(h.Heat)
	case "mill":
		return "/recall?" + url.Values{"q": {h.Heat.Mill}}.Encode()
	case "place":
		name, _ := past.Place(h.Number)
		return "/find?" + url.Values{"place": {name}}.Encode()
	case "job":
		return "/jobs/" + url.PathEscape(h.Job)
	case "person":
		return "/quality?" + url.Values{"person": {h.Number.String()}}.Encode()
	case "bundle", "stock", "load":
		return addressOf(h.Number)
	case "mark":
		if l, ok := past.LineOf(h.Job, h.List, h.Mark); ok {
			if of := past.BundlesOf(l); len(of) == 1 {
				return addressOf(of[0].Number)
			}
		}
	}
	return ""
}

// kindsOf are hits by their kinds, each with what it is.
func kindsOf(past *view.Past, hits []view.Hit) (out []foundKind) {
	for _, kind := range []string{"bundle", "heat", "cert", "stock", "mark", "list", "job", "load", "place", "mill", "person"} {
		var of foundKind
		for _, h := range hits {
			if h.Kind != kind {
				continue
			}
			one := foundHit{Hit: h, Address: pageOf(past, h)}
			if one.Address == "" {
				one.Address = "/search?" + url.Values{"q": {strings.Trim(strings.Join([]string{h.Job, h.List, h.Mark}, "/"), "/")}}.Encode()
			}
			one.Says = saysOf(past, h)
			of.Hits = append(of.Hits, one)
		}
		if of.Kind = kind; len(of.Hits) > 0 {
			out = append(out, of)
		}
	}
	return out
}

// saysOf says what a hit is, beside its name.
func saysOf(past *view.Past, h view.Hit) view.Say {
	switch h.Kind {
	case "bundle":
		if b, ok := past.Bundle(h.Number); ok {
			l := past.Line(b.Line)
			at := view.Lies(past, b, l)
			what := fmt.Sprintf("%s %s/%d, %s / %s: ", l.Mark, b.Name(), b.N, l.Job, l.List)
			return view.Say{English: what + at.English, Spanish: what + at.Spanish}
		}
	case "stock":
		if l, ok := past.Lot(h.Number); ok {
			what := strings.TrimSpace(fmt.Sprintf("%s, %s %s", l.Steel, l.Mill, strings.Join(l.Heats, ", ")))
			return view.Say{English: what, Spanish: what}
		}
	case "load":
		if l, ok := past.Load(h.Number); ok {
			what := strings.TrimSpace(l.Date + " " + l.Truck)
			return view.Say{English: what, Spanish: what}
		}
	case "job":
		j, _ := past.Job(h.Job)
		return view.Say{English: j.Name, Spanish: j.Name}
	case "cert":
		return view.Say{English: h.Heat.String(), Spanish: h.Heat.String()}
	}
	return view.Say{}
}

// Name is what the hit goes by.
func (h foundHit) Name() string {
	switch h.Kind {
	case "heat":
		return h.Heat.String()
	case "mill":
		return h.Heat.Mill
	case "cert", "place":
		return h.Text
	case "job", "list", "mark":
		return strings.Trim(strings.Join([]string{h.Job, h.List, h.Mark}, " / "), " /")
	}
	if h.Text != "" {
		return h.Number.String() + " (" + h.Text + ")"
	}
	return h.Number.String()
}
