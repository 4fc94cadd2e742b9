package view

import (
	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// truck applies what happened to loads.
func (a *apply) truck() {
	switch b := a.e.Body.(type) {
	case event.LoadPlanned:
		a.planSet(a.stops(b))
	case event.LoadSet:
		a.planSet(b)
	case event.LoadOpened:
		a.history(b.Load)
	case event.Loaded:
		shipped := false
		a.again(b)
		a.load(b.Load, func(l *load.Load) {
			l.Count++
			l.Mass += b.Mass
			shipped = l.Shipped != 0
		})
		a.raw(tLoaded, twoKey(uint64(b.Load), uint64(b.Bundle)), seqKey(a.seq))
		a.progress(b.Bundle, func(x *scan.Bundle) {
			a.away(x)
			x.Load, x.Shipped = b.Load, shipped
			trip(x, func(t *scan.Trip) { t.Back = 0 })
			x.Voided = x.Voided && !a.fell(*x) // the truck went with it: it is made after all
		})
	case event.Unloaded:
		a.unload(b.Load, b.Bundle, b.Mass)
		a.history(b.Load)
		a.bundle(b.Bundle, func(x *scan.Bundle) {
			x.Load = 0
			pop(x)
		})
		a.refall(b.Bundle)
	case event.Shipped:
		a.load(b.Load, func(l *load.Load) { l.Shipped = a.e.Recorded })
		a.del(tHere, numKey(b.Load))
		a.history(b.Load)
		var on []tags.Number
		a.Loaded(b.Load, func(n tags.Number) bool { on = append(on, n); return true })
		for _, n := range on {
			a.bundle(n, func(x *scan.Bundle) { x.Shipped = true })
		}
	}
}

func (a *apply) unload(n, b tags.Number, m bar.Mass) {
	a.load(n, func(l *load.Load) {
		l.Count--
		l.Mass -= m
	})
	a.del(tLoaded, twoKey(uint64(n), uint64(b)))
}
