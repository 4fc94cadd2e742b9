package view

import (
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// tag changes the newest copy of a number's tag.
func (a *apply) tag(n tags.Number, change func(copies *int)) {
	switch n.Kind() {
	case tags.Bundle:
		a.bundle(n, func(x *scan.Bundle) { change(&x.Copy) })
	case tags.Stock:
		a.lot(n, func(l *heat.Lot) { change(&l.Copy) })
		a.history(n)
	case tags.Load:
		a.load(n, func(l *load.Load) { change(&l.Copy) })
		a.history(n)
	}
}

func (a *apply) printed(b event.TagPrinted) { a.tag(b.Number, func(copies *int) { *copies = b.Copy }) }

// tagLost keeps up to which copy the tags of a bundle are lost.
func (a *apply) tagLost(b event.TagLost) {
	a.tag(b.Number, func(copies *int) { *copies = max(*copies, b.Copy) })
	if b.Number.Kind() == tags.Bundle {
		a.alter(b.Number, func(x *scan.Bundle) { kin(x).Mislaid = b.Copy })
	}
}
