package pages

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/export"
	"tagd/internal/tags"
	"tagd/internal/view"
	"tagd/internal/web"
)

// listsPage has the bar lists, and what would become of a file that was sent, or did.
type listsPage struct {
	Lists   []view.List
	Form    listForm
	Refused string // what was not taken, as it was said
	Wrong   string // what is wrong with the file, in the language of the page

	Looked bool // a file was sent
	Faulty bool // it has faults
	Done   bool // it was taken
	File   barlist.File
	Whole  []barlist.Fault // what is said of the file as a whole, warnings among them
	Lines  []lineSeen
	barlist.Taken
	Open int // bundles of which nothing is decided yet

	// What the file comes to.
	Of            []listOf // the lists in it
	Bad, Warned   int      // faults, and rows that a person should know something of
	New, Changed  int      // marks
	Gone, Same    int
	Before, After bar.Mass // of what its lists ask for
	Left          int      // rows without a remark that are not shown
}

// listOf is a list of a file.
type listOf struct {
	Job, Name, List string // of the job, its name too
	Was             string // the revision that stands; with Stands
	Stands          bool
}

// mostSame is how many rows of which nothing is to be said a page shows.
const mostSame = 1000

// listForm is what was typed beside a file, with the file itself: the next form brings it again, so that
// the server keeps nothing between a look and the taking.
type listForm struct {
	Name, Data                string // the file, in base64
	Job, List, Revision, From string
	Reason, Badge             string
	All                       bool // all rows are shown, not only those of which something is to be said
}

// lineSeen is a line of a file, or a mark that it has no more, with what is said of it.
type lineSeen struct {
	barlist.Line
	Row    int
	Read   bool // it could be read, as far as it has no faults
	Faults []barlist.Fault
	Warns  []barlist.Fault
	Change *barlist.Change
}

// Is says how a row stands out: fault, warn, or not.
func (l lineSeen) Is() string {
	switch {
	case len(l.Faults) > 0:
		return "fault"
	case len(l.Warns) > 0, l.Change != nil && (l.Change.What == barlist.Changed || l.Change.What == barlist.Withdrawn || len(l.Change.Asked) > 0):
		return "warn"
	}
	return "same"
}

// Field is a thing of a line as it was, where that differs; else nil.
func (l lineSeen) Field(name string) *barlist.Field {
	if l.Change == nil {
		return nil
	}
	for i, f := range l.Change.Fields {
		if f.Name == name {
			return &l.Change.Fields[i]
		}
	}
	return nil
}

// Was is the line of a mark that the list has no more; nil of all others.
func (l lineSeen) Was() *event.LineTaken {
	if l.Read || l.Change == nil {
		return nil
	}
	was, ok := l.Change.Was()
	if !ok {
		return nil
	}
	return &was
}

// Others are the differences that have no column.
func (l lineSeen) Others() (out []barlist.Field) {
	if l.Change == nil {
		return nil
	}
	for _, f := range l.Change.Fields {
		if f.Name == "shape" || f.Name == "route" || f.Name == "note" {
			out = append(out, f)
		}
	}
	return out
}

// lists shows the bar lists, and a form for another.
func (p *pages) lists(c echo.Context) error {
	return p.showLists(c, listsPage{Form: listForm{Job: c.QueryParam("job")}})
}

// takeList looks at a bar list that was sent, or with the button take takes it.
func (p *pages) takeList(c echo.Context) error {
	d := listsPage{Form: listForm{
		Job: c.FormValue("job"), List: c.FormValue("list"), Revision: c.FormValue("revision"), From: c.FormValue("from_list"),
		Reason: c.FormValue("reason"), Badge: strings.TrimSpace(c.FormValue("badge")), All: c.FormValue("show") == "all",
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
		d.Faulty, d.Wrong = true, p.speak(language(c)).counted(len(faults), "faults")
		return p.lookAt(c, d, barlist.Said{From: strings.TrimSpace(d.Form.From)})
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

// lookAt shows what taking the file would come to, or came to. Of a file with faults it is what can be read.
func (p *pages) lookAt(c echo.Context, d listsPage, said barlist.Said) error {
	err := p.floor.View(func(past *view.Past) (err error) {
		d.standing(past)
		if d.Done {
			return nil
		}
		file := d.File
		if d.Faulty {
			file.Lines = d.sound()
		}
		d.Taken, err = barlist.Look(past, file, p.opt.Limits, said)
		return err
	})
	says, err := refusal(err)
	if err != nil {
		return err
	}
	if !d.Faulty {
		d.Refused = cmp.Or(d.Refused, says)
	}
	d.beside()
	return p.showLists(c, d)
}

// sound are the lines without a fault.
func (d *listsPage) sound() (out []barlist.Line) {
	for _, l := range d.Lines {
		if l.Read && len(l.Faults) == 0 {
			out = append(out, l.Line)
		}
	}
	return out
}

// standing reads which lists the file has, and what stands under them.
func (d *listsPage) standing(past *view.Past) {
	for _, l := range d.File.Lines {
		d.After += nominal(l.Steel.Size, l.Length, l.Pieces)
		of := listOf{Job: strings.TrimSpace(l.Job), List: strings.TrimSpace(l.List)}
		if slices.ContainsFunc(d.Of, func(o listOf) bool { return o.Job == of.Job && o.List == of.List }) {
			continue
		}
		j, _ := past.Job(of.Job)
		of.Name = j.Name
		if of.Job != "" && of.List != "" && !d.Done {
			var was barlist.Standing
			if was, of.Stands = past.List(of.Job, of.List); of.Stands {
				of.Was = was.Revision
				d.Before += past.Asked(of.Job, of.List)
			}
		}
		d.Of = append(d.Of, of)
	}
}

// nominal is the weight of pieces; none of a size that was not read.
func nominal(size bar.Size, each bar.Length, pieces int) bar.Mass {
	m, _ := bar.Weigh(size, each*bar.Length(pieces))
	return m
}

// beside puts what changes beside the rows, and counts.
func (d *listsPage) beside() {
	type mark struct{ job, list, mark string }
	at := map[mark]int{}
	for i, l := range d.Lines {
		if l.Read {
			at[mark{strings.TrimSpace(l.Job), strings.TrimSpace(l.List), l.Mark}] = i
		}
	}
	for i := range d.Changes {
		x := &d.Changes[i]
		k, ok := at[mark{x.Job, x.List, x.Mark}]
		switch {
		case x.What == barlist.Withdrawn && d.Faulty:
			continue // it may stand in a row that cannot be read
		case !ok:
			k = len(d.Lines)
			d.Lines = append(d.Lines, lineSeen{Row: x.Row, Line: barlist.Line{Job: x.Job, List: x.List, Mark: x.Mark}})
		}
		d.Lines[k].Change = x
		switch x.What {
		case barlist.Added:
			d.New++
		case barlist.Changed, barlist.TakenOver:
			d.Changed++
		case barlist.Withdrawn:
			d.Gone++
		default:
			d.Same++
		}
		for _, a := range x.Asked {
			if a.Decided == "" && !d.Done && !d.Faulty {
				d.Open++
			}
		}
	}
	if len(d.Changes) == 0 && !d.Existing {
		d.New = len(d.File.Lines)
	}
	shown, same := d.Lines[:0:0], 0
	for _, l := range d.Lines {
		if l.Is() == "same" {
			if same++; same > mostSame {
				d.Left++
				continue
			}
		}
		shown = append(shown, l)
	}
	d.Lines = shown
}

// Stands says whether one of the lists was taken before.
func (d listsPage) Stands() bool {
	return slices.ContainsFunc(d.Of, func(o listOf) bool { return o.Stands })
}

// Acts is how many rows something is said of.
func (d listsPage) Acts() (n int) {
	for _, l := range d.Lines {
		if l.Is() != "same" {
			n++
		}
	}
	return n
}

// Rows is how many rows the file has that could be read.
func (d listsPage) Rows() int { return len(d.File.Lines) }

// Asks says whether a person has something to decide.
func (d listsPage) Asks() bool {
	return slices.ContainsFunc(d.Changes, func(x barlist.Change) bool { return len(x.Asked) > 0 })
}

// whyOnly names the text that says why of a begun bundle nothing else can be decided; "" all can.
func whyOnly(a barlist.Ask) string {
	switch {
	case a.WhyOnly == "":
		return ""
	case a.State == barlist.Left, a.State == barlist.OnTruck, a.State == barlist.AtWork:
		return "list only " + string(a.State)
	}
	return "list no stock"
}

// listFaults gives the faults and warnings of a file as a table for a spreadsheet.
func (p *pages) listFaults(c echo.Context) error {
	f := listForm{Job: c.FormValue("job"), List: c.FormValue("list"), Revision: c.FormValue("revision")}
	data, err := f.file(c)
	if err != nil {
		return p.showLists(c, listsPage{Form: f, Refused: err.Error()})
	}
	_, faults, warnings := barlist.Read(f.Name, data, p.defaults(f))
	lang := language(c)
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	head := []string{"row", "column", "it is", "what is said"}
	for i := range head {
		head[i] = p.word(lang, "list "+head[i])
	}
	rows := [][]string{head}
	for i, fault := range slices.Concat(faults, warnings) {
		is := p.word(lang, "list fault")
		if i >= len(faults) {
			is = p.word(lang, "check")
		}
		rows = append(rows, []string{strconv.Itoa(fault.Row), export.Cell(fault.Field), is, export.Cell(fault.Says)})
	}
	if err := w.WriteAll(rows); err != nil {
		return err
	}
	c.Response().Header().Set("Content-Disposition", web.Attachment("faults-"+f.Name+".csv"))
	return c.Blob(http.StatusOK, "text/csv; charset=utf-8", b.Bytes())
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
	// A question is a group of its own, and all others may be decided at once.
	for _, name := range slices.Sorted(maps.Keys(form)) {
		if !strings.HasPrefix(name, "decide") {
			continue
		}
		for _, text := range form[name] {
			if text == "" {
				continue
			}
			one, err := barlist.ParseDecision(text)
			if err != nil {
				return said, err
			}
			said.Decisions = append(said.Decisions, one)
		}
	}
	return said, nil
}

// rows puts what is said of the file beside the rows that it is about.
func (d *listsPage) rows(faults, warnings []barlist.Fault) {
	d.Bad = len(faults)
	at := map[int]int{}
	for _, l := range d.File.Lines {
		at[l.Row] = len(d.Lines)
		d.Lines = append(d.Lines, lineSeen{Line: l, Row: l.Row, Read: true})
	}
	for n, f := range slices.Concat(faults, warnings) {
		i, ok := at[f.Row]
		switch {
		case f.Row == 0:
			d.Whole = append(d.Whole, f)
			continue
		case !ok:
			i, at[f.Row] = len(d.Lines), len(d.Lines)
			d.Lines = append(d.Lines, lineSeen{Row: f.Row})
		}
		if n < len(faults) {
			d.Lines[i].Faults = append(d.Lines[i].Faults, f)
		} else {
			d.Warned++
			d.Lines[i].Warns = append(d.Lines[i].Warns, f)
		}
	}
	slices.SortStableFunc(d.Lines, func(a, b lineSeen) int { return cmp.Compare(a.Row, b.Row) })
}
