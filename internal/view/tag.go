package view

import (
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

func (a *apply) printed(b event.TagPrinted) {
	switch b.Number.Kind() {
	case tags.Bundle:
		a.bundle(b.Number, func(x *scan.Bundle) { x.Copy = b.Copy })
	case tags.Stock:
		a.lot(b.Number, func(l *heat.Lot) { l.Copy = b.Copy })
		a.history(b.Number)
	case tags.Load:
		a.load(b.Number, func(l *load.Load) { l.Copy = b.Copy })
		a.history(b.Number)
	}
}
