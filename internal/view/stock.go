package view

import (
	"encoding/binary"

	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// stock applies what is learned of a lot beside what is drawn from it.
func (a *apply) stock() {
	switch b := a.e.Body.(type) {
	case event.LotExpected:
		a.lotIn(heat.Lot{
			Number: b.Lot, Mill: b.Mill, Heats: b.Heats, Steel: b.Steel, Length: b.Length, Melted: b.Melted, Rolled: b.Rolled, PO: b.PO,
			At:    a.e.Recorded,
			Paper: &heat.Paper{Bars: b.Bars, Mass: b.Mass, Bundles: b.Bundles, Coils: b.Coils, Date: b.Date, Open: true},
		}, millNumbers(b.Bundles, b.Coils))
		a.raw(tComing, numKey(b.Lot), nil)
	case event.LotConfirmed:
		a.lot(b.Lot, func(l *heat.Lot) {
			if !free(*l) && l.Came() == (heat.Amount{}) {
				l.At = a.e.Recorded // a lot is as old as its first bundle here
			}
			*l = l.With(b)
			a.own(*l, millNumbers(b.Bundles, b.Coils))
			if !l.Coming() {
				a.del(tComing, numKey(b.Lot))
			}
		})
		a.history(b.Lot)
	case event.YardCounted:
		a.lot(b.Lot, func(l *heat.Lot) {
			l.Counted += b.Bars - b.Record
			l.CountedMass += b.Mass - b.RecordMass
			l.CountedAt = a.e.Recorded
			if b.Place != 0 {
				l.Place = b.Place
			}
		})
		a.history(b.Lot)
	case event.LotHeatSet:
		a.lot(b.Lot, func(l *heat.Lot) {
			a.heats(*l, a.del2)
			l.Mill, l.Heats = b.Mill, b.Heats
			a.heats(*l, a.put2)
			own := millNumbers(l.Bundles, l.Coils)
			if l.Paper != nil {
				own = append(own, millNumbers(l.Paper.Bundles, l.Paper.Coils)...)
			}
			a.own(*l, own)
		})
		a.history(b.Lot)
	}
}

func millNumbers(bundles []event.MillBundle, coils []event.MillCoil) (out []string) {
	for _, b := range bundles {
		out = append(out, b.Number)
	}
	for _, c := range coils {
		out = append(out, c.Number)
	}
	return out
}

// Coming calls f for each lot of which more is expected, by number, until f returns false.
func (p *Past) Coming(f func(heat.Lot) bool) {
	p.each(tComing, func(k, _ []byte) bool {
		l, ok := p.Lot(tags.Number(binary.BigEndian.Uint64(k)))
		return !ok || f(l)
	})
}
