package pages

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/press"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/tags/label"
	"tagd/internal/view"
	"tagd/internal/web"
)

// What tags can be asked for, by the word in the address.
var tagged = []string{"bundles", "stock", "loads", "places", "badges"}

// Which of them: those that were never printed, those that were, or all.
var copied = []string{"new", "again", "all"}

// tagsPage is the tags that are asked for, and what was printed.
type tagsPage struct {
	What, Show                  string
	Load, Job, List, Mark, Size string
	Trucks                      []load.Load // to choose from
	Bundles                     []tagOf[scan.Bundle]
	Lots                        []tagOf[heat.Lot]
	Loads                       []tagOf[load.Load]
	Named                       []withName // places and badges
	More                        bool       // than are shown
	Asked                       bool       // something was asked for; else it is what the trucks need
	Paper, DPI                  string
	Refused                     string // what could not be done, as it was said
	Wrong                       string // what is wrong with the question, in the language of the page
	Printed                     []event.TagPrinted
	Sheet                       string // the address of what was printed
}

// tagOf is a thing with what its row says of it.
type tagOf[T any] struct {
	Is     T
	Number tags.Number
	Copy   int
	Line   *scan.Line
	Heats  heat.Draw
	Where  string
	Lies   view.Say // where a bundle is
}

// withName is a place or a badge: of their tags no copies are counted.
type withName struct {
	Number tags.Number
	Name   string
}

// Count is how many tags are shown.
func (d tagsPage) Count() int { return len(d.Bundles) + len(d.Lots) + len(d.Loads) + len(d.Named) }

// Ticked says whether all are meant until somebody says otherwise: what was never printed.
func (d tagsPage) Ticked() bool { return d.Show == "new" }

// Whats and Shows are what can be chosen.
func (tagsPage) Whats() []string { return tagged }
func (tagsPage) Shows() []string { return copied }

// tagsToPrint shows the tags that are asked for.
func (p *pages) tagsToPrint(c echo.Context) error {
	return p.showTags(c, tagsPage{
		What: c.QueryParam("what"), Show: c.QueryParam("show"), Load: c.QueryParam("load"), Job: c.QueryParam("job"), List: c.QueryParam("list"),
		Mark: c.QueryParam("mark"), Size: c.QueryParam("size"), Paper: c.QueryParam("paper"), DPI: c.QueryParam("dpi"),
	})
}

func (p *pages) showTags(c echo.Context, d tagsPage) error {
	d.tidy(p.floor.Rules().Units)
	names := map[tags.Number]string{}
	if d.What == "badges" {
		var err error
		if names, err = p.floor.Names(); err != nil {
			return err
		}
	}
	err := p.floor.View(func(past *view.Past) error {
		past.LoadsHere(func(l load.Load) bool { d.Trucks = append(d.Trucks, l); return true })
		slices.SortStableFunc(d.Trucks, func(a, b load.Load) int {
			return cmp.Or(cmp.Compare(cmp.Or(a.Date, "9"), cmp.Or(b.Date, "9")), cmp.Compare(a.Leaves, b.Leaves))
		})
		return d.read(past, names)
	})
	if d.Refused == "" {
		d.Refused, err = refusal(err)
	}
	if err != nil {
		return err
	}
	return p.render(c, "tags.html", p.word(language(c), "tags"), d)
}

// tidy puts what may be left out in its place.
func (d *tagsPage) tidy(units bar.Units) {
	for _, f := range []*string{&d.Load, &d.Job, &d.List, &d.Mark, &d.Size} {
		*f = strings.TrimSpace(*f)
	}
	if !slices.Contains(tagged, d.What) {
		d.What = tagged[0]
	}
	if !slices.Contains(copied, d.Show) {
		d.Show = copied[0]
	}
	if d.Paper == "" && units == bar.Metric {
		d.Paper = "100x150"
	}
	d.Asked = d.Load+d.Job+d.Mark+d.Size != ""
}

// wants says whether a tag of which so many copies are out is asked for.
func (d *tagsPage) wants(copies int) bool {
	return d.Show == "all" || (copies > 0) == (d.Show == "again")
}

// read finds what is asked for.
func (d *tagsPage) read(past *view.Past, names map[tags.Number]string) error {
	var size bar.Size
	if d.Size != "" {
		var err error
		if size, err = bar.ParseSize(d.Size); err != nil {
			return &event.Refusal{Field: "size", Says: err.Error()}
		}
	}
	room := func() bool {
		d.More = d.More || d.Count() == press.Most
		return !d.More
	}
	switch d.What {
	case "bundles":
		return d.bundles(past, size, room)
	case "stock":
		past.Lots(0, func(l heat.Lot) bool {
			if l.Gone || !l.Any() && !l.Coming() || size != "" && l.Steel.Size != size || !d.wants(l.Copy) {
				return true
			}
			if !room() {
				return false
			}
			name, _ := past.Place(l.Place)
			d.Lots = append(d.Lots, tagOf[heat.Lot]{Is: l, Number: l.Number, Copy: l.Copy, Heats: heat.Of(past, []tags.Number{l.Number}), Where: cmp.Or(l.Feed, name)})
			return true
		})
	case "loads":
		for _, l := range d.Trucks {
			if d.wants(l.Copy) && room() {
				d.Loads = append(d.Loads, tagOf[load.Load]{Is: l, Number: l.Number, Copy: l.Copy})
			}
		}
	case "places":
		past.Places(func(name string, n tags.Number) bool {
			if room() {
				d.Named = append(d.Named, withName{n, name})
			}
			return !d.More
		})
	case "badges":
		for n, name := range names {
			d.Named = append(d.Named, withName{n, name})
		}
		slices.SortFunc(d.Named, func(a, b withName) int { return cmp.Compare(a.Number, b.Number) })
		if d.More = len(d.Named) > press.Most; d.More {
			d.Named = d.Named[:press.Most]
		}
	}
	return nil
}

// bundles finds the bundles of a truck, a job, a list, a mark or a size; when nothing is said, those that the
// trucks need, in the order in which they leave.
func (d *tagsPage) bundles(past *view.Past, size bar.Size, room func() bool) error {
	seen := map[tags.Number]bool{}
	add := func(b scan.Bundle) bool {
		l := past.Line(b.Line)
		if seen[b.Number] || b.Voided || b.Shipped || d.Job != "" && l.Job != d.Job || d.List != "" && l.List != d.List || d.Mark != "" && l.Mark != d.Mark ||
			size != "" && l.Steel.Size != size || !d.wants(b.Copy) {
			return true
		}
		if !room() {
			return false
		}
		seen[b.Number] = true
		d.Bundles = append(d.Bundles, tagOf[scan.Bundle]{Is: b, Number: b.Number, Copy: b.Copy, Line: l, Lies: view.Lies(past, b, l)})
		return true
	}
	of := func(numbers []tags.Number) {
		for _, n := range numbers {
			if b, ok := past.Bundle(n); ok && !add(b) {
				return
			}
		}
	}
	var lines []*scan.Line
	switch {
	case d.Load != "":
		n, err := tags.ParseNumber(d.Load)
		if _, ok := past.Load(n); err != nil || !ok {
			return &event.Refusal{Field: "load", Says: "is no number of a load; choose one of the list"}
		}
		of(past.PlannedOn(n))
		past.Loaded(n, func(m tags.Number) bool { b, _ := past.Bundle(m); return add(b) })
		return nil
	case d.Job != "" && d.Mark != "" && d.List != "":
		if l, ok := past.LineOf(d.Job, d.List, d.Mark); ok {
			lines = append(lines, l)
		}
	case d.Job != "":
		lines = past.LinesOf(d.Job, d.List)
	case d.Mark != "":
		lines = past.LinesMarked(d.Mark)
	case d.Size != "":
		looked := 0
		past.Bundles(0, func(b scan.Bundle) bool {
			if looked++; looked > mostLooked {
				d.More = true
				return false
			}
			return add(b)
		})
		return nil
	default:
		for _, t := range d.Trucks {
			of(past.PlannedOn(t.Number))
		}
		return nil
	}
	for _, l := range lines {
		for _, b := range past.BundlesOf(l) {
			if !add(b) {
				return nil
			}
		}
	}
	return nil
}

// papers are the papers of tags, by their word.
func paperOf(word string) label.Paper {
	if word == "100x150" {
		return label.MetricA6
	}
	return label.FourBySix
}

// dots are the dots per inch of printers.
var dots = []int{203, 300, 600}

func dpiOf(text string) int {
	n, err := strconv.Atoi(text)
	if err != nil || !slices.Contains(dots, n) {
		return dots[0]
	}
	return n
}

// print records one more copy of each tag that was ticked, and says where they are as one sheet.
func (p *pages) print(c echo.Context) error {
	d := tagsPage{
		What: c.FormValue("what"), Show: c.FormValue("show"), Load: c.FormValue("load"), Job: c.FormValue("job"), List: c.FormValue("list"),
		Mark: c.FormValue("mark"), Size: c.FormValue("size"), Paper: c.FormValue("paper"), DPI: c.FormValue("dpi"),
	}
	o, err := origin(c, "tags")
	if err != nil {
		return err
	}
	var numbers []tags.Number
	for _, text := range c.Request().PostForm["n"] {
		n, err := tags.ParseNumber(text)
		if err != nil {
			return web.Refuse("bad-request", fmt.Sprintf("%q is no number of ours.", text), "Open the page anew.")
		}
		numbers = append(numbers, n)
	}
	slices.Sort(numbers)
	switch numbers = slices.Compact(numbers); {
	case len(numbers) == 0:
		d.Wrong = p.word(language(c), "tags none")
		return p.showTags(c, d)
	case len(numbers) > press.Most:
		return web.Refuse("bad-request", fmt.Sprintf("%d tags are printed at once.", press.Most), "Tick fewer.")
	}
	_, r, err := p.press.Print(c.Request().Context(), o, numbers, dpiOf(d.DPI), paperOf(d.Paper))
	var unfit *press.Unfit
	var unknown press.Unknown
	switch {
	case errors.As(err, &unfit), errors.As(err, &unknown):
		d.Refused = err.Error()
		return p.showTags(c, d)
	case err != nil:
		return err
	}
	d.Printed = press.Printed(r)
	d.Sheet = fmt.Sprintf("/tags/sheet?from=%d&n=%d&paper=%s&dpi=%d", r.Seq, len(r.Events), cmp.Or(d.Paper, "4x6"), dpiOf(d.DPI))
	return p.showTags(c, d)
}

// sheet gives what was printed once more, as it was printed: no further copy is recorded.
func (p *pages) sheet(c echo.Context) error {
	from, err := strconv.ParseUint(c.QueryParam("from"), 10, 64)
	count, err2 := strconv.Atoi(c.QueryParam("n"))
	if err != nil || err2 != nil || count < 1 || count > press.Most {
		return web.Refuse("bad-request", "The address names no printed tags.", "Print them on the page of tags.")
	}
	printed := map[tags.Number]int{}
	var numbers []tags.Number
	err = p.floor.View(func(past *view.Past) error {
		for seq := from; seq < from+uint64(count); seq++ {
			if seq > past.Head() {
				return web.Refuse("not-found", "Nothing was printed there.", "Print the tags on their page.")
			}
			b, ok := past.Event(seq).Body.(event.TagPrinted)
			if !ok {
				return web.Refuse("not-found", "Nothing was printed there.", "Print the tags on their page.")
			}
			printed[b.Number] = b.Copy
			numbers = append(numbers, b.Number)
		}
		return nil
	})
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := p.press.Sheet(&b, numbers, dpiOf(c.QueryParam("dpi")), paperOf(c.QueryParam("paper")), func(n tags.Number, _ int) int { return printed[n] }); err != nil {
		return err
	}
	c.Response().Header().Set("Content-Disposition", strings.Replace(web.Attachment(fmt.Sprintf("tags-%d.pdf", from)), "attachment", "inline", 1))
	return c.Blob(http.StatusOK, "application/pdf", b.Bytes())
}
