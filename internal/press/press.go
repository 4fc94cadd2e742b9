// Package press lays out the tags of things as the record has them, and records what is printed. It knows which
// fact of a bundle, lot, load, place or badge stands on its tag; what a tag looks like is known by package label.
package press

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"time"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/tags/label"
	"tagd/internal/view"
)

// Most is how many tags are printed at once.
const Most = 1_000

// Press prints the tags of a floor.
type Press struct {
	Floor *floor.Floor
	Host  string // the public address in the QR code of a tag: "TAGS.EXAMPLE"
}

// Unknown is a number that was never given out here.
type Unknown struct{ Number tags.Number }

func (u Unknown) Error() string { return fmt.Sprintf("%v was never given out here", u.Number) }

// Unfit is a tag that cannot be printed: a field of it does not fit, or has a letter that no tag has.
type Unfit struct {
	Number tags.Number
	Field  string
	Err    error
}

func (u *Unfit) Error() string {
	return fmt.Sprintf("the tag of %v cannot be printed: %v", u.Number, u.Err)
}

func (u *Unfit) Unwrap() error { return u.Err }

// NewUnfit names the tag in an error of laying it out; another error stays as it is.
func NewUnfit(n tags.Number, err error) error {
	var fit *label.FitError
	var letter *label.LetterError
	switch {
	case errors.As(err, &fit):
		return &Unfit{n, fit.Field, err}
	case errors.As(err, &letter):
		return &Unfit{n, letter.Field, err}
	}
	return err
}

// Copies says which copy of a tag is printed, from the newest that there is; 0 before the first.
type Copies func(n tags.Number, newest int) int

// Newest is the newest copy once more.
func Newest(_ tags.Number, newest int) int { return newest }

// Tags lays out the tags of numbers. An error is Unknown.
func (a *Press) Tags(numbers []tags.Number, paper label.Paper, copies Copies) ([]label.Label, error) {
	names, err := a.Floor.Names()
	if err != nil {
		return nil, err
	}
	var out []label.Label
	err = a.Floor.View(func(p *view.Past) error {
		for _, n := range numbers {
			newest, ok := p.Copy(n)
			if !ok {
				return Unknown{n}
			}
			out = append(out, a.label(p, n, copies(n, newest), paper, names))
		}
		return nil
	})
	return out, err
}

// Sheet writes tags as a PDF, a page each, for a printer with so many dots per inch. An error is Unknown or an
// *Unfit.
func (a *Press) Sheet(w io.Writer, numbers []tags.Number, dpi int, paper label.Paper, copies Copies) error {
	labels, err := a.Tags(numbers, paper, copies)
	if err != nil {
		return err
	}
	var now tags.Number
	err = label.Sheet(w, dpi, func(yield func(label.Label, error) bool) {
		for i, l := range labels {
			now = numbers[i]
			if !yield(l, nil) {
				return
			}
		}
	}, nil)
	return NewUnfit(now, err)
}

// Print records one more copy of each tag, and gives them as Sheet does. They are laid out before that is
// recorded, so that no copy is recorded that cannot be printed. The same request again gives the same copies.
func (a *Press) Print(ctx context.Context, o floor.Origin, numbers []tags.Number, dpi int, paper label.Paper) ([]byte, floor.Receipt, error) {
	laid := map[tags.Number]int{}
	var sheet bytes.Buffer
	if err := a.Sheet(&sheet, numbers, dpi, paper, func(n tags.Number, newest int) int { laid[n] = newest + 1; return newest + 1 }); err != nil {
		return nil, floor.Receipt{}, err
	}
	r, err := a.Floor.Print(ctx, o, numbers)
	if err != nil {
		return nil, r, err
	}
	printed := map[tags.Number]int{}
	numbers = nil
	for _, one := range Printed(r) {
		printed[one.Number] = one.Copy
		numbers = append(numbers, one.Number)
	}
	if len(printed) == 0 {
		return nil, r, floor.ErrOtherRequest // what the key stands for was no print
	}
	if !maps.Equal(laid, printed) { // a resent key, or somebody else printed meanwhile
		sheet.Reset()
		err = a.Sheet(&sheet, numbers, dpi, paper, func(n tags.Number, _ int) int { return printed[n] })
	}
	return sheet.Bytes(), r, err
}

// Printed are the copies that a receipt records.
func Printed(r floor.Receipt) (out []event.TagPrinted) {
	for _, e := range r.Events {
		if b, ok := e.Body.(event.TagPrinted); ok {
			out = append(out, b)
		}
	}
	return out
}

// label lays out one tag.
func (a *Press) label(p *view.Past, n tags.Number, copies int, paper label.Paper, names map[tags.Number]string) label.Label {
	plain := label.Plain{Number: n, Copy: copies, Plant: a.plant(), Host: a.Host, Paper: paper}
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
func (a *Press) plant() string {
	r := a.Floor.Rules()
	if r.Name == "" {
		return fmt.Sprintf("Plant %d", r.Plant)
	}
	return fmt.Sprintf("Plant %d · %s", r.Plant, r.Name)
}

func (a *Press) bundleLabel(p *view.Past, n tags.Number, copies int, paper label.Paper) label.Label {
	b, _ := p.Bundle(n)
	l := p.Line(b.Line)
	job, _ := p.Job(l.Job)
	out := label.Bundle{
		Number: n, Copy: copies, Plant: a.plant(), Host: a.Host, Job: l.Job, List: l.List, JobName: job.Name, Mark: l.Mark,
		K: b.Name(), N: b.N, Steel: l.Steel, Pieces: b.Pieces, Length: l.Length, Shape: l.Shape, Weight: weight(b, l),
		Replacement: b.Replaces(), ShipTo: a.shipTo(p, b, job), Units: a.Floor.Rules().Units, Paper: paper,
	}
	if d, drawn := scan.HeatsOf(p, b); drawn {
		out.Heats, out.Unknown = heatTexts(d), d.Certainty == heat.Unknown
	}
	return out
}

// mostAddress is how many lines of an address a tag has room for.
const mostAddress = 3

// shipTo is the address of the stop that a bundle is planned for, else that of its job.
func (a *Press) shipTo(p *view.Past, b scan.Bundle, job event.JobSet) []string {
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

func (a *Press) stockLabel(p *view.Past, n tags.Number, copies int, paper label.Paper) label.Label {
	l, _ := p.Lot(n)
	d := heat.Of(p, []tags.Number{n})
	out := label.Stock{
		Number: n, Copy: copies, Plant: a.plant(), Host: a.Host, Remnant: l.Remnant(), Steel: l.Steel, Bars: l.Received,
		Length: l.Length, Weight: l.Mass, Heats: heatTexts(d), Unknown: d.Certainty == heat.Unknown, Mill: l.Mill, From: l.Parents,
		Date: time.UnixMilli(l.At).In(a.Floor.Rules().Zone).Format(time.DateOnly), Units: a.Floor.Rules().Units, Paper: paper,
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

// weight is the nominal weight of a bundle: its size was weighed when its line was taken.
func weight(b scan.Bundle, l *scan.Line) bar.Mass {
	m, _ := bar.Weigh(l.Steel.Size, l.Length*bar.Length(b.Pieces))
	return m
}
