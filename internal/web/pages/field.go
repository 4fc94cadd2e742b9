package pages

import (
	"time"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/tags/label"
	"tagd/internal/view"
)

// Field is what the pages after a tag's QR show to whoever holds the tag, beside what stands on it.
type Field struct {
	Certs   bool // which certs are on file for its heats
	History bool // how far the bundle is, by day
}

// fieldPage is what a phone shows after a tag's QR: the record's words where the number is known, else the tag's
// own.
type fieldPage struct {
	Number tags.Number
	Tag    *tags.Tag
	Known  bool
	Bundle *fieldBundle
	Lot    *view.TracedLot
	Load   *load.Load
	Place  string
	// Wrong is what is amiss, the worst first: refused where nobody may use it, else to be looked at.
	Wrong []fieldWrong
	Certs bool // cert states are shown
}

// fieldWrong is a thing that is amiss: a word of the pages, or a sentence of the record.
type fieldWrong struct {
	Word string
	Note *event.Note
	Stop bool
}

// fieldBundle is a bundle as a phone shows it.
type fieldBundle struct {
	view.TracedBundle
	JobName  string
	Revision string
	Bend     *label.Bend
	BendText string
	Keys     []heatCert
	Stages   []fieldStage // none where the plant does not show them
}

// fieldStage is a stage with its day.
type fieldStage struct {
	scan.Stage
	Day string
}

func (p *pages) field(c echo.Context) error {
	read, _ := tags.Read("HTTPS://" + c.Request().Host + c.Request().URL.EscapedPath())
	d := fieldPage{Number: read.Number, Tag: read.Tag, Certs: p.opt.Field.Certs}
	err := p.floor.View(func(past *view.Past) error {
		d.Known = d.Number != 0 && past.Known(d.Number)
		if !d.Known {
			return nil
		}
		switch d.Number.Kind() {
		case tags.Bundle:
			p.fieldBundle(past, &d)
		case tags.Stock:
			for _, l := range past.Ask(d.Number.Digits()).Lots {
				if l.Number == d.Number {
					d.Lot = &l
					d.hold(l.Held)
				}
			}
		case tags.Load:
			l, _ := past.Load(d.Number)
			d.Load = &l
			_, held := past.Hold(event.Target{Number: d.Number})
			d.hold(held)
		case tags.Place:
			d.Place, _ = past.Place(d.Number)
		}
		return nil
	})
	if err != nil {
		return err
	}
	title := d.Number.String()
	switch {
	case d.Bundle != nil:
		title = d.Bundle.Line.Mark
	case d.Number == 0:
		title = p.word(language(c), "nothing found")
	}
	return p.renderIn(c, inField, "field.html", title, nil, d)
}

func (d *fieldPage) hold(held bool) {
	if held {
		d.Wrong = append(d.Wrong, fieldWrong{Word: "field held", Stop: true})
	}
}

// Stop says whether nobody may use it.
func (d fieldPage) Stop() bool { return len(d.Wrong) > 0 && d.Wrong[0].Stop }

// fieldBundle reads a bundle.
func (p *pages) fieldBundle(past *view.Past, d *fieldPage) {
	rules := p.floor.Rules()
	b, _ := past.Bundle(d.Number)
	l := past.Line(b.Line)
	card, _ := scan.CardOf(past, rules, "", d.Number)
	f := &fieldBundle{TracedBundle: view.TracedBundle{Bundle: b, Line: l, Heats: card.Heats, Drawn: card.Drawn, Held: card.Held != nil, Lies: view.Lies(past, b, l)}}
	f.Mass, _ = bar.Weigh(l.Steel.Size, l.Length*bar.Length(b.Pieces)) // sizes of lines were checked
	job, _ := past.Job(l.Job)
	list, _ := past.ListOf(l.Job, l.List)
	f.JobName, f.Revision = job.Name, list.Revision
	if !l.Shape.Straight() {
		f.Bend, f.BendText = p.bendOf(l, rules.Units), l.Shape.Text(rules.Units)
	}
	d.Bundle = f
	switch {
	case b.Into() != 0:
		d.Wrong = append(d.Wrong, fieldWrong{Word: "field merged", Stop: true})
	case b.Voided:
		d.Wrong = append(d.Wrong, fieldWrong{Word: "field voided", Stop: true})
	}
	d.hold(f.Held)
	if d.Tag != nil {
		says := *d.Tag
		if says.Copy == 0 { // an address that somebody typed or followed, and no tag
			says.Copy = b.Copy
		}
		for _, n := range scan.Differs(past, d.Number, says) {
			d.Wrong = append(d.Wrong, fieldWrong{Note: &n})
		}
	}
	missing := false
	for _, k := range f.Heats.Heats {
		one := heatCert{Key: k}
		if d.Certs {
			one.sizeCert = certOf(past, k, l.Steel.Size)
			missing = missing || one.State == "no cert"
		}
		f.Keys = append(f.Keys, one)
	}
	if missing {
		d.Wrong = append(d.Wrong, fieldWrong{Word: "field cert missing"})
	}
	if p.opt.Field.History {
		f.Stages = fieldStages(past, b, l, rules.Zone)
	}
}

// fieldStages is how far a bundle is, by day.
func fieldStages(past *view.Past, b scan.Bundle, l *scan.Line, zone *time.Location) (out []fieldStage) {
	for _, s := range stagesOf(past, b, l) {
		one := fieldStage{Stage: s}
		if s.At != 0 {
			one.Day = time.UnixMilli(s.At).In(zone).Format(time.DateOnly)
		}
		out = append(out, one)
	}
	return out
}

// stagesOf is the way of a bundle, with the times that its newest records say.
func stagesOf(past *view.Past, b scan.Bundle, l *scan.Line) []scan.Stage {
	seqs := past.History(b.Number)
	var events []event.Event
	for _, seq := range seqs[max(0, len(seqs)-mostStaged):] {
		events = append(events, past.Event(seq))
	}
	on, _ := past.Load(b.Load)
	var stop load.Stop
	if at := past.StopOf(on, b); at >= 0 && at < len(on.Stops) {
		stop = on.Stops[at]
	}
	return scan.Stages(b, l, on, stop, events)
}
