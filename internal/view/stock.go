package view

import (
	"encoding/binary"

	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/store"
	"tagd/internal/tags"
)

// free says whether a lot can be brought to a shear: bars or coil on hand, and not on a feed.
func free(l heat.Lot) bool { return l.Any() && l.Feed == "" }

// lot changes a lot and keeps the index of free lots.
func (a *apply) lot(n tags.Number, change func(*heat.Lot)) {
	l, ok := a.Lot(n)
	if !ok {
		a.missing(n)
		return
	}
	had := free(l)
	change(&l)
	a.putLot(l)
	key := sizeKey(l)
	if has := free(l); has != had {
		if has {
			a.raw(tSize, key, nil)
		} else {
			a.del(tSize, key)
		}
	}
}

func sizeKey(l heat.Lot) []byte {
	return binary.BigEndian.AppendUint64(textSeqKey(uint64(l.At), string(l.Steel.Size)), uint64(l.Number))
}

func (a *apply) newLot(l heat.Lot) {
	a.putLot(l)
	if free(l) {
		a.raw(tSize, sizeKey(l), nil)
	}
	a.taken(l.Number)
}

// lotIn takes in a lot from a mill, to be found by its heats and by the mill's own numbers.
func (a *apply) lotIn(l heat.Lot, own []string) {
	l.At = a.e.Recorded
	a.newLot(l)
	a.history(l.Number)
	a.heats(l, a.put2)
	a.own(l, own)
}

// heats keeps the two indexes of a lot's heats.
func (a *apply) heats(l heat.Lot, do func(store.Table, []byte)) {
	for _, h := range l.Heats {
		do(tHeat, textSeqKey(uint64(l.Number), l.Mill, h))
		a.raw(tHeatText, textKey(h, l.Mill), nil)
	}
}

func (a *apply) put2(t store.Table, key []byte) { a.raw(t, key, nil) }

func (a *apply) del2(t store.Table, key []byte) { a.del(t, key) }

// own makes the mill's own numbers stand for a lot: with the mill, and bare unless another mill's stands
// there.
func (a *apply) own(l heat.Lot, numbers []string) {
	for _, n := range numbers {
		for _, text := range []string{heat.MillAlias(l.Mill, n), n} {
			if key := textKey(text); a.tx.Get(tAlias, key) == nil {
				a.number(tAlias, key, l.Number)
			}
		}
	}
}

// stock applies what is learned of a lot beside what is drawn from it.
func (a *apply) stock() {
	switch b := a.e.Body.(type) {
	case event.LotExpected:
		a.lotIn(heat.NewLot(b))
		a.raw(tComing, numKey(b.Lot), nil)
	case event.LotConfirmed:
		a.lot(b.Lot, func(l *heat.Lot) {
			if !free(*l) && l.Came() == (heat.Amount{}) {
				l.At = a.e.Recorded // a lot is as old as its first bundle here
			}
			*l = l.With(b)
			a.own(*l, heat.MillNumbers(b.Bundles, b.Coils))
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
			own := heat.MillNumbers(l.Bundles, l.Coils)
			if l.Paper != nil {
				own = append(own, heat.MillNumbers(l.Paper.Bundles, l.Paper.Coils)...)
			}
			a.own(*l, own)
		})
		a.history(b.Lot)
	}
}

// Coming calls f for each lot of which more is expected, by number, until f returns false.
func (p *Past) Coming(f func(heat.Lot) bool) {
	p.each(tComing, func(k, _ []byte) bool {
		l, ok := p.Lot(tags.Number(binary.BigEndian.Uint64(k)))
		return !ok || f(l)
	})
}

// OnHand calls f for each lot with bars or coil on hand that can be brought to a shear, and for those on the feeds
// of these stations, until f returns false: first by size, then oldest first.
func (p *Past) OnHand(stations []string, f func(heat.Lot) bool) {
	more := true
	p.each(tSize, func(k, _ []byte) bool {
		l, ok := p.Lot(tags.Number(binary.BigEndian.Uint64(k[len(k)-8:])))
		more = !ok || f(l)
		return more
	})
	for _, name := range stations {
		for _, feed := range p.Floor(name).Feeds {
			for _, n := range feed.Lots {
				if l, ok := p.Lot(n); ok && more && l.Any() {
					more = f(l)
				}
			}
		}
	}
}
