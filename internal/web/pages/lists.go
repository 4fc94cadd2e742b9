package pages

import (
	"cmp"
	"fmt"
	"strings"

	"github.com/labstack/echo/v4"

	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// listsPage has the bar lists, and what would become of a file that was sent, or did.
type listsPage struct {
	Lists   []view.List
	Form    listForm
	Refused string

	Looked bool // a file was sent
	Faulty bool // it has faults
	Done   bool // it was taken
	File   barlist.File
	Whole  []barlist.Fault // what is said of the file as a whole, warnings among them
	Lines  []lineSeen
	barlist.Taken
	Open int // bundles of which nothing is decided yet
}

// listForm is what was typed beside a file, with the file itself: the next form brings it again, so that
// the server keeps nothing between a look and the taking.
type listForm struct {
	Name, Data                string // the file, in base64
	Job, List, Revision, From string
	Reason, Badge             string
}

// lineSeen is a line of a file, with what is said of its row.
type lineSeen struct {
	barlist.Line
	Row    int
	Read   bool // it could be read
	Faults []barlist.Fault
}

// lists shows the bar lists, and a form for another.
func (p *pages) lists(c echo.Context) error { return p.showLists(c, listsPage{}) }

// takeList looks at a bar list that was sent, or with the button take takes it.
func (p *pages) takeList(c echo.Context) error {
	d := listsPage{Form: listForm{
		Job: c.FormValue("job"), List: c.FormValue("list"), Revision: c.FormValue("revision"), From: c.FormValue("from_list"),
		Reason: c.FormValue("reason"), Badge: strings.TrimSpace(c.FormValue("badge")),
	}}
	data, err := d.Form.file(c)
	if err != nil {
		return d.refused(p, c, err)
	}
	d.Looked = true
	var faults, warnings []barlist.Fault
	d.File, faults, warnings = barlist.Read(d.Form.Name, data, p.defaults(d.Form))
	d.rows(faults, warnings)
	if len(faults) > 0 {
		d.Faulty, d.Refused = true, fmt.Sprintf("%d faults: nothing would be taken. Mend the file and send it again.", len(faults))
		return p.showLists(c, d)
	}
	said, err := d.Form.said(c)
	if err == nil && c.FormValue("do") == "take" {
		err = p.revise(c, &d, said)
	}
	if err != nil {
		return d.refused(p, c, err, said)
	}
	return p.lookAt(c, d, said)
}

// defaults are what is meant where a file does not say it: what was typed, else what the plant has set.
func (p *pages) defaults(f listForm) barlist.Defaults {
	d := p.opt.Defaults
	d.Units = p.floor.Rules().Units
	for _, one := range []struct {
		said string
		into *string
	}{{f.Job, &d.Job}, {f.List, &d.List}, {f.Revision, &d.Revision}} {
		if said := strings.TrimSpace(one.said); said != "" {
			*one.into = said
		}
	}
	return d
}

// revise takes the list.
func (p *pages) revise(c echo.Context, d *listsPage, said barlist.Said) error {
	o, err := origin(c, "list")
	if err != nil {
		return err
	}
	// The file may have come beside the fields of the form.
	o.Request = fmt.Sprintf("list %x %+v %s", d.File.SHA256, said, d.Form.Badge)
	if d.Form.Badge != "" {
		n, err := tags.ParseNumber(d.Form.Badge)
		if err != nil || n.Kind() != tags.Person {
			return &event.Refusal{Field: "badge", Says: "is no number of a badge; scan it, or leave it out"}
		}
		o.People, o.Identified = []tags.Number{n}, event.Badge
	}
	t, r, err := p.floor.Revise(c.Request().Context(), o, d.File, said)
	if err != nil {
		return err
	}
	d.Done, d.Taken = true, t
	if r.Again { // only its events are known
		for _, e := range r.Events {
			b, ok := e.Body.(event.LineTaken)
			if changed, is := e.Body.(event.LineChanged); is {
				b, ok = changed.Taken, true
			}
			if ok && b.Row > 0 {
				d.Taken.Lines++
				d.Bundles += len(b.Bundles)
			}
		}
	}
	return nil
}

// lookAt shows what taking the file would come to, or came to.
func (p *pages) lookAt(c echo.Context, d listsPage, said barlist.Said) error {
	if d.Done {
		return p.showLists(c, d)
	}
	err := p.floor.View(func(past *view.Past) (err error) {
		d.Taken, err = barlist.Look(past, d.File, p.opt.Limits, said)
		return err
	})
	says, err := refusal(err)
	if err != nil {
		return err
	}
	d.Refused = cmp.Or(d.Refused, says)
	for _, x := range d.Changes {
		for _, a := range x.Asked {
			if a.Decided == "" {
				d.Open++
			}
		}
	}
	return p.showLists(c, d)
}

// refused shows why a form was not taken, with the file as far as it was looked at.
func (d listsPage) refused(p *pages, c echo.Context, err error, said ...barlist.Said) error {
	if d.Refused, err = refusal(err); err != nil {
		return err
	}
	if len(said) == 0 {
		return p.showLists(c, d)
	}
	return p.lookAt(c, d, said[0])
}

func (p *pages) showLists(c echo.Context, d listsPage) error {
	if err := p.floor.View(func(past *view.Past) error {
		past.Lists(func(l view.List) bool { d.Lists = append(d.Lists, l); return true })
		return nil
	}); err != nil {
		return err
	}
	return p.render(c, "lists.html", p.word(language(c), "lists"), d)
}

// file is the file of a form.
func (f *listForm) file(c echo.Context) (data []byte, err error) {
	f.Name, f.Data, data, err = sent(c, "choose the bar list", "tagd import")
	return data, err
}

// said reads what was decided about begun bundles.
func (f listForm) said(c echo.Context) (barlist.Said, error) {
	said := barlist.Said{From: strings.TrimSpace(f.From), Reason: f.Reason}
	form, err := c.FormParams()
	if err != nil {
		return said, err
	}
	for _, text := range form["decide"] {
		if text == "" {
			continue
		}
		one, err := barlist.ParseDecision(text)
		if err != nil {
			return said, err
		}
		said.Decisions = append(said.Decisions, one)
	}
	return said, nil
}

// rows puts what is said of the file beside the rows that it is about.
func (d *listsPage) rows(faults, warnings []barlist.Fault) {
	at := map[int]int{}
	for _, l := range d.File.Lines {
		at[l.Row] = len(d.Lines)
		d.Lines = append(d.Lines, lineSeen{Line: l, Row: l.Row, Read: true})
	}
	for _, f := range append(faults, warnings...) {
		i, ok := at[f.Row]
		switch {
		case f.Row == 0:
			d.Whole = append(d.Whole, f)
			continue
		case !ok:
			i, at[f.Row] = len(d.Lines), len(d.Lines)
			d.Lines = append(d.Lines, lineSeen{Row: f.Row})
		}
		d.Lines[i].Faults = append(d.Lines[i].Faults, f)
	}
}
