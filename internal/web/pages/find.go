package pages

import (
	"strings"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// findPage looks for bundles by what can be seen of one that has lost its tag.
type findPage struct {
	Job, List, Mark, Size, Length, Place string
	Asked                                bool
	Wrong                                string
	Bundles                              []foundBundle
	More                                 bool
}

type foundBundle struct {
	scan.Bundle
	Line  *scan.Line
	Where view.Say
}

// Bounds of a search: what a page shows, and how many bundles one looks at.
const (
	mostFound  = 200
	mostLooked = 20_000
)

func (p *pages) find(c echo.Context) error {
	ask := func(name string) string { return strings.TrimSpace(c.QueryParam(name)) }
	d := findPage{Job: ask("job"), List: ask("list"), Mark: ask("mark"), Size: ask("size"), Length: ask("length"), Place: ask("place")}
	d.Asked = d.Job+d.Mark+d.Size+d.Length+d.Place != ""
	if d.Asked {
		if err := p.floor.View(func(past *view.Past) error { d.look(past, p.speak(language(c))); return nil }); err != nil {
			return err
		}
	}
	return p.render(c, "find.html", p.word(language(c), "find a bundle"), d)
}

// look finds the bundles; those that are no more are left out.
func (d *findPage) look(past *view.Past, in speech) {
	var size bar.Size
	var length bar.Length
	var at tags.Number
	if d.Size != "" {
		var err error
		if size, err = bar.ParseSize(d.Size); err != nil {
			d.Wrong = in.filled("no size", d.Size)
			return
		}
	}
	if d.Length != "" {
		var err error
		if length, err = bar.ParseLength(d.Length); err != nil {
			d.Wrong = in.filled("no length", d.Length)
			return
		}
	}
	if d.Place != "" {
		var ok bool
		if at, ok = past.PlaceNamed(d.Place); !ok {
			d.Wrong = in.filled("no place", d.Place)
			return
		}
	}
	looked := 0
	add := func(b scan.Bundle) bool {
		if looked++; looked > mostLooked || len(d.Bundles) == mostFound {
			d.More = true
			return false
		}
		l := past.Line(b.Line)
		if !b.Voided && (d.Mark == "" || l.Mark == d.Mark) && (size == "" || l.Steel.Size == size) && (length == 0 || l.Length == length) && (at == 0 || b.Place == at) {
			d.Bundles = append(d.Bundles, foundBundle{b, l, view.Lies(past, b, l)})
		}
		return true
	}
	var lines []*scan.Line
	switch {
	case d.Job != "":
		lines = past.LinesOf(d.Job, d.List)
	case d.Mark != "":
		lines = past.LinesMarked(d.Mark)
	default:
		past.Bundles(0, add)
		return
	}
	for _, l := range lines {
		for _, b := range past.BundlesOf(l) {
			if !add(b) {
				return
			}
		}
	}
}
