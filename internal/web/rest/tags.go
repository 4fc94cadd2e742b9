package rest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"tagd/api"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/tags/label"
	"tagd/internal/view"
	"tagd/internal/web"
)

// mostTags is how many tags one request prints.
const mostTags = 1_000

func (a *ops) tags() {
	for _, one := range []struct {
		path, id string
		kind     tags.Kind
	}{
		{"bundles", "bundle", tags.Bundle}, {"stock", "lot", tags.Stock}, {"loads", "load", tags.Load},
		{"places", "place", tags.Place}, {"persons", "person", tags.Person},
	} {
		register(a, http.MethodGet, "/"+one.path+"/{number}/tag.{format}", "get-"+one.id+"-tag", "The tag of a "+one.kind.String()+", as its newest copy",
			func(_ context.Context, in *tagIn) (*stream, error) { return a.tag(in, one.kind) }, group("tags"),
			about("Nothing is recorded: a print that hangs on something is asked for by /tags."),
			gives("application/pdf", "image/svg+xml", "image/png"))
	}
	register(a, http.MethodPost, "/tags", "print-tags", "Record one more copy of each tag, and give them as one PDF", a.printTags, group("tags"),
		about("A tag a page, by number, at most 1,000. The tags are those named, or those of all bundles of a job, list or mark, or of a load."),
		gives("application/pdf"))
}

type tagIn struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	Format string `path:"format" enum:"pdf,svg,png"`
	DPI    string `query:"dpi" enum:"203,300,600" default:"203" doc:"Dots per inch of the printer."`
	Layout string `query:"layout" enum:"4x6,100x150" default:"4x6" doc:"Paper: 4 x 6 in, or 100 x 150 mm."`
}

func paperOf(layout string) label.Paper {
	if layout == "100x150" {
		return label.MetricA6
	}
	return label.FourBySix
}

func (a *ops) tag(in *tagIn, kind tags.Kind) (*stream, error) {
	n, err := number(in.Number, kind)
	if err != nil {
		return nil, err
	}
	labels, err := a.labels([]tags.Number{n}, paperOf(in.Layout), func(_ tags.Number, newest int) int { return newest })
	if err != nil {
		return nil, err
	}
	dpi, _ := strconv.Atoi(in.DPI) // one of three
	var b bytes.Buffer
	types := map[string]string{"pdf": "application/pdf", "svg": "image/svg+xml", "png": "image/png"}
	switch in.Format {
	case "pdf":
		err = label.PDF(&b, dpi, labels...)
	case "svg":
		err = label.SVG(&b, labels[0], dpi)
	case "png":
		err = label.PNG(&b, labels[0], dpi)
	}
	if err != nil {
		return nil, labelProblem(n, err)
	}
	return file(types[in.Format], "tag-"+n.String()+"."+in.Format, b.Bytes()), nil
}

// file is an answer that is a file, shown in the browser where it can be.
func file(kind, name string, data []byte) *stream {
	return &stream{func(ctx huma.Context) {
		ctx.SetHeader("Content-Type", kind)
		ctx.SetHeader("Content-Disposition", strings.Replace(web.Attachment(name), "attachment", "inline", 1))
		ctx.SetHeader("Content-Length", itoa(len(data)))
		ctx.SetStatus(http.StatusOK)
		_, _ = ctx.BodyWriter().Write(data) // a client that left needs no answer
	}}
}

// labelProblem says what of a tag cannot be printed.
func labelProblem(n tags.Number, err error) error {
	var fit *label.FitError
	var letter *label.LetterError
	field := ""
	switch {
	case errors.As(err, &fit):
		field = fit.Field
	case errors.As(err, &letter):
		field = letter.Field
	default:
		return err
	}
	return web.Refuse("invalid", fmt.Sprintf("The tag of %v cannot be printed: %v.", n, err), "", web.Field{Location: field, Message: err.Error()})
}

// labels lays out the tags of numbers. Copies says which copy of each, from the newest that there is.
func (a *ops) labels(numbers []tags.Number, paper label.Paper, copies func(n tags.Number, newest int) int) ([]label.Label, error) {
	names, err := a.f.Names()
	if err != nil {
		return nil, err
	}
	var out []label.Label
	err = a.f.View(func(p *view.Past) error {
		for _, n := range numbers {
			newest, ok := p.Copy(n)
			if !ok {
				return missing("%v was never given out here.", n)
			}
			out = append(out, a.label(p, n, copies(n, newest), paper, names))
		}
		return nil
	})
	return out, err
}

// label lays out one tag.
func (a *ops) label(p *view.Past, n tags.Number, copies int, paper label.Paper, names map[tags.Number]string) label.Label {
	plain := label.Plain{Number: n, Copy: copies, Plant: a.plant(), Host: a.o.Host, Paper: paper}
	switch n.Kind() {
	case tags.Bundle:
		return a.bundleLabel(p, n, copies, paper)
	case tags.Stock:
		return a.stockLabel(p, n, copies, paper)
	case tags.Load:
		l, _ := p.Load(n)
		plain.Title, plain.Lines = loadTitle(l), l.Jobs()
		if l.Truck != "" && l.Date != "" {
			plain.Lines = append([]string{l.Date}, plain.Lines...)
		}
	case tags.Place:
		plain.Title, _ = p.Place(n)
	case tags.Person:
		plain.Title = names[n]
		if plain.Title == "" { // the name was taken out
			plain.Title = n.String()
		}
	}
	return plain
}

// loadTitle is what a load is called: its truck, else its day, else its number.
func loadTitle(l load.Load) string {
	switch {
	case l.Truck != "":
		return l.Truck
	case l.Date != "":
		return l.Date
	}
	return l.Number.String()
}

// plant is what stands in the corner of a tag.
func (a *ops) plant() string {
	r := a.f.Rules()
	if r.Name == "" {
		return fmt.Sprintf("Plant %d", r.Plant)
	}
	return fmt.Sprintf("Plant %d · %s", r.Plant, r.Name)
}

func (a *ops) bundleLabel(p *view.Past, n tags.Number, copies int, paper label.Paper) label.Label {
	b, _ := p.Bundle(n)
	l := p.Line(b.Line)
	job, _ := p.Job(l.Job)
	out := label.Bundle{
		Number: n, Copy: copies, Plant: a.plant(), Host: a.o.Host, Job: l.Job, List: l.List, JobName: job.Name, Mark: l.Mark,
		K: b.Name(), N: b.N, Steel: l.Steel, Pieces: b.Pieces, Length: l.Length, Shape: l.Shape, Weight: mass(b, l),
		Replacement: b.Replaces(), ShipTo: a.shipTo(p, b, job), Units: a.units(), Paper: paper,
	}
	if d, drawn := scan.HeatsOf(p, b); drawn {
		out.Heats, out.Unknown = heatTexts(d), d.Certainty == heat.Unknown
	}
	return out
}

// mostAddress is how many lines of an address a tag has room for.
const mostAddress = 3

// shipTo is the address of the stop that a bundle is planned for, else that of its job.
func (a *ops) shipTo(p *view.Past, b scan.Bundle, job event.JobSet) []string {
	to := job.ShipTo
	on := b.Load
	if on == 0 {
		on = b.Planned
	}
	if l, ok := p.Load(on); ok && on != 0 {
		if i := p.StopOf(l, b); i >= 0 && len(l.Stops[i].ShipTo) > 0 {
			to = l.Stops[i].ShipTo
		}
	}
	return to[:min(len(to), mostAddress)]
}

// heatTexts are heats as a tag writes them: the heat number, with the mill where two mills have the
// same.
func heatTexts(d heat.Draw) []string {
	count := map[string]int{}
	for _, k := range d.Heats {
		count[k.Heat]++
	}
	var out []string
	for _, k := range d.Heats {
		if count[k.Heat] > 1 {
			out = append(out, k.String())
		} else {
			out = append(out, k.Heat)
		}
	}
	return out
}

func (a *ops) stockLabel(p *view.Past, n tags.Number, copies int, paper label.Paper) label.Label {
	l, _ := p.Lot(n)
	d := heat.Of(p, []tags.Number{n})
	out := label.Stock{
		Number: n, Copy: copies, Plant: a.plant(), Host: a.o.Host, Remnant: l.Remnant(), Steel: l.Steel, Bars: l.Received,
		Length: l.Length, Weight: l.Mass, Heats: heatTexts(d), Unknown: d.Certainty == heat.Unknown, Mill: l.Mill, From: l.Parents,
		Date: time.UnixMilli(l.At).In(a.f.Rules().Zone).Format(time.DateOnly), Units: a.units(), Paper: paper,
	}
	if l.Coming() && l.Came() == (heat.Amount{}) { // a tag that hangs ready for what a paper says
		out.Bars, out.Weight, out.Date = l.Paper.Bars, l.Paper.Mass, ""
	}
	out.Place, _ = p.Place(l.Place)
	var mills []string
	for _, k := range d.Heats {
		if !slices.Contains(mills, k.Mill) {
			mills = append(mills, k.Mill)
		}
		for _, c := range p.Certs(k) {
			if c.Covers(l.Steel.Size) {
				out.Cert = c.Filed.Type
			}
		}
	}
	if out.Mill == "" {
		out.Mill = strings.Join(mills, ", ")
	}
	return out
}

type printIn struct {
	Keyed
	Body api.PrintTags
}

func (a *ops) printTags(ctx context.Context, in *printIn) (*stream, error) {
	b := in.Body
	numbers, err := a.selected(b)
	if err != nil {
		return nil, err
	}
	o, err := a.origin("", b.By, in.Key, []any{"print", b})
	if err != nil {
		return nil, err
	}
	dpi, paper := b.DPI, paperOf(b.Layout)
	if dpi == 0 {
		dpi = 203
	}
	// Laid out before it is recorded, so that no copy is recorded that cannot be printed.
	laid := map[tags.Number]int{}
	sheet, err := a.sheet(numbers, dpi, paper, func(n tags.Number, newest int) int { laid[n] = newest + 1; return newest + 1 })
	if err != nil {
		return nil, err
	}
	r, err := a.f.Print(ctx, o, numbers)
	if err != nil {
		return nil, err
	}
	printed := map[tags.Number]int{}
	numbers = nil
	for _, e := range bodies[event.TagPrinted](r) {
		printed[e.Number] = e.Copy
		numbers = append(numbers, e.Number)
	}
	if len(printed) == 0 {
		return nil, floor.ErrOtherRequest // what the key stands for was no print
	}
	if !maps.Equal(laid, printed) { // a resent key, or somebody else printed meanwhile
		if sheet, err = a.sheet(numbers, dpi, paper, func(n tags.Number, _ int) int { return printed[n] }); err != nil {
			return nil, err
		}
	}
	return file("application/pdf", fmt.Sprintf("tags-%d.pdf", r.Seq), sheet), nil
}

// sheet lays tags out a page each.
func (a *ops) sheet(numbers []tags.Number, dpi int, paper label.Paper, copies func(tags.Number, int) int) ([]byte, error) {
	labels, err := a.labels(numbers, paper, copies)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	var now tags.Number
	err = label.Sheet(&b, dpi, func(yield func(label.Label, error) bool) {
		for i, l := range labels {
			now = numbers[i]
			if !yield(l, nil) {
				return
			}
		}
	}, nil)
	if err != nil {
		return nil, labelProblem(now, err)
	}
	return b.Bytes(), nil
}

// selected are the numbers whose tags are asked for, in order, each once.
func (a *ops) selected(b api.PrintTags) ([]tags.Number, error) {
	out, err := numbers("body.numbers", b.Numbers, tags.Bundle, tags.Stock, tags.Load, tags.Place, tags.Person)
	if err != nil {
		return nil, err
	}
	err = a.f.View(func(p *view.Past) error {
		for i, n := range out {
			if !p.Known(n) {
				return invalid(fmt.Sprintf("body.numbers[%d]", i), n.String()+" was never given out here")
			}
		}
		if b.Job != "" || b.Mark != "" {
			for _, one := range bundlesOf(p, b.Job, b.List, b.Mark) {
				if !one.Voided {
					out = append(out, one.Number)
				}
			}
		}
		if b.Load == "" {
			return nil
		}
		n, err := oneNumber("body.load", b.Load, tags.Load)
		if err != nil {
			return err
		}
		if _, ok := p.Load(n); !ok {
			return invalid("body.load", n.String()+" was never given out here")
		}
		out = append(out, p.PlannedOn(n)...)
		p.Loaded(n, func(m tags.Number) bool { out = append(out, m); return true })
		return nil
	})
	slices.Sort(out)
	out = slices.Compact(out)
	switch {
	case err != nil:
		return nil, err
	case b.List != "" && b.Job == "":
		return nil, invalid("body.job", "is missing; a list number belongs to a job")
	case len(out) == 0:
		return nil, invalid("body.numbers", "select no tag; name numbers, or a job, list, mark or load that has bundles")
	case len(out) > mostTags:
		return nil, invalid("body.numbers", fmt.Sprintf("select %d tags; %d are printed at once", len(out), mostTags))
	}
	return out, nil
}
