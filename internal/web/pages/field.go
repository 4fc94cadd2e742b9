package pages

import (
	"github.com/labstack/echo/v4"

	"tagd/internal/event"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// fieldPage is what a phone shows after a tag's QR: the tag's own words, and the record's.
type fieldPage struct {
	Number tags.Number
	Tag    *tags.Tag
	Known  bool
	Bundle *view.TracedBundle
	Lot    *view.TracedLot
	// HeldLoad says that the number is a load that is held.
	HeldLoad bool
}

func (p *pages) field(c echo.Context) error {
	read, _ := tags.Read("HTTPS://" + c.Request().Host + c.Request().URL.EscapedPath())
	d := fieldPage{Number: read.Number, Tag: read.Tag}
	err := p.floor.View(func(past *view.Past) error {
		d.Known = d.Number != 0 && past.Known(d.Number)
		_, d.HeldLoad = past.Hold(event.Target{Number: d.Number})
		d.HeldLoad = d.HeldLoad && d.Number.Kind() == tags.Load
		t := past.Ask(d.Number.Digits())
		for i := range t.Bundles {
			if t.Bundles[i].Number == d.Number {
				d.Bundle = &t.Bundles[i]
			}
		}
		for i := range t.Lots {
			if t.Lots[i].Number == d.Number {
				d.Lot = &t.Lots[i]
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	return p.renderIn(c, inField, "field.html", d.Number.String(), nil, d)
}
