package view

import (
	"encoding/binary"
	"slices"

	"tagd/internal/event"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// loading applies what happens to loads and their bundles beside going on, coming off and leaving.
func (a *apply) loading() {
	switch b := a.e.Body.(type) {
	case event.Staged:
		a.advance(b.Bundle, func(x *scan.Bundle) {
			a.away(x)
			x.Place = b.Place
			trip(x, func(t *scan.Trip) { t.Staged = b.Load })
		})
		a.history(b.Load)
	case event.LoadWeighed:
		a.load(b.Load, func(l *load.Load) { l.Weighed, l.Net = a.seq, b.Gross-b.Tare })
		a.history(b.Load)
	case event.LoadDelivered:
		a.load(b.Load, func(l *load.Load) {
			l.Stops = slices.Clone(l.Stops)
			for i := range l.Stops {
				if b.Stop == 0 || b.Stop == i+1 {
					l.Stops[i].Delivered = a.seq
				}
			}
		})
		a.history(b.Load)
	case event.BundleReturned:
		a.returned(b)
		a.history(b.Load)
	case event.BundlesBack:
		a.broughtBack(b)
		a.history(b.Load)
	case event.Claimed:
		a.raw(tClaim, twoKey(uint64(b.Load), a.seq), nil)
		a.listed(b.Bundle)
		a.history(b.Load)
	case event.ClaimAnswered:
		a.claimAnswered(b)
	}
}

// trip changes what a bundle keeps of its way on trucks, on a copy. Most keep nothing.
func trip(x *scan.Bundle, change func(*scan.Trip)) {
	t := scan.Trip{}
	if x.Trip != nil {
		t = *x.Trip
	}
	change(&t)
	if x.Trip = nil; t != (scan.Trip{}) {
		x.Trip = &t
	}
}

// unstage says of a bundle that it does not lie ready any more.
func unstage(x *scan.Bundle) {
	if x.Staged() != 0 {
		trip(x, func(t *scan.Trip) { t.Staged = 0 })
	}
}

// home takes a bundle that came back off its load. What was done with it until then is not undone any more:
// it was seen outside. The load keeps how many pieces went with it.
func (a *apply) home(n, place tags.Number) {
	x, _ := a.Bundle(n)
	key := twoKey(uint64(x.Load), uint64(n))
	v := a.tx.Get(tLoaded, key)
	if v == nil {
		a.missing(key)
		return
	}
	on, _ := a.Event(binary.BigEndian.Uint64(v)).Body.(event.Loaded)
	l, _ := a.Load(x.Load)
	back := binary.BigEndian.AppendUint32(nil, uint32(x.Left()))
	back = binary.BigEndian.AppendUint16(back, uint16(a.StopOf(l, x)+1))
	a.raw(tBack, key, binary.BigEndian.AppendUint64(back, a.seq))
	a.unload(x.Load, n, on.Mass)
	a.unplan(x)
	a.bundle(n, func(x *scan.Bundle) {
		x.Events = append(x.Events, x.Progress...)
		from := x.Load
		x.Progress, x.Load, x.Shipped, x.Planned, x.Place = nil, 0, false, 0, place
		if a.e.Station != "" && !x.Started && x.Station != a.e.Station {
			x.Station = a.e.Station
		}
		trip(x, func(t *scan.Trip) { *t = scan.Trip{From: from} })
		if x.Kin != nil && x.Kin.Away > 0 {
			kin(x).Away = 0
		}
	})
	a.refall(n)
}

// partHome ties pieces of a bundle that stays away as a bundle that is here.
func (a *apply) partHome(x scan.Bundle, n tags.Number, pieces int, place tags.Number) {
	from := x.Load
	x.Planned = 0
	a.remainder(x, n, pieces, func(r *scan.Bundle) {
		r.Done, r.Runs, r.Station, r.Place = x.Done, slices.Clone(x.Runs), x.Station, place
		if a.e.Station != "" {
			r.Station = a.e.Station
		}
		kin(r).Parents = []tags.Number{x.Number}
		r.Kin.Replaces = x.Replaces()
		trip(r, func(t *scan.Trip) { t.From = from })
	})
	a.raw(tPart, twoKey(uint64(x.Number), uint64(n)), nil)
}

// fewer takes pieces that came back from a bundle that stays away with the others.
func (a *apply) fewer(n tags.Number, pieces int) {
	a.bundle(n, func(x *scan.Bundle) {
		x.Pieces -= pieces
		trip(x, func(t *scan.Trip) { t.Back += pieces })
	})
}

// returned books what came back from a load, as it went.
func (a *apply) returned(b event.BundleReturned) {
	x, ok := a.Bundle(b.Bundle)
	switch {
	case !ok:
		a.missing(b.Bundle)
		return
	case b.Pieces == x.Pieces:
		a.home(b.Bundle, b.Place)
	default:
		if b.Part != 0 {
			a.partHome(x, b.Part, b.Pieces, b.Place)
		}
		a.fewer(b.Bundle, b.Pieces)
	}
	if !b.Scrap {
		return
	}
	a.alter(b.Bundle, func(x *scan.Bundle) {
		kin(x).Lost += b.Pieces
		if b.Pieces == x.Pieces && x.Load == 0 {
			x.Pieces, x.Made, x.Started, x.Voided, x.Place = 0, 0, false, true, 0
		}
	})
}

// broughtBack books what came back from a processor: as it went, or tied anew. Pieces are taken from the bundles
// in order; what does not come back stays away.
func (a *apply) broughtBack(b event.BundlesBack) {
	if len(b.Into) == 0 {
		for _, n := range b.From {
			a.home(n, b.Place)
			a.stepped(n, b.Step)
		}
		return
	}
	first, ok := a.Bundle(b.From[0])
	if !ok {
		a.missing(b.From[0])
		return
	}
	var runs []uint64
	for _, n := range b.From {
		x, _ := a.Bundle(n)
		runs = append(runs, x.Runs...)
	}
	came := 0
	for _, part := range b.Into {
		if part.Alias != "" {
			a.number(tAlias, textKey(part.Alias), part.Number)
			a.history(part.Number)
		}
		came += part.Pieces
		if part.Number == first.Number {
			a.home(first.Number, b.Place)
			a.stepped(first.Number, b.Step)
			return // the only one, as it went
		}
		a.partHome(first, part.Number, part.Pieces, b.Place)
		a.alter(part.Number, func(x *scan.Bundle) {
			x.Runs = slices.Clone(runs)
			kin(x).Parents = slices.Clone(b.From)
		})
		a.stepped(part.Number, b.Step)
		for _, n := range b.From {
			a.raw(tPart, twoKey(uint64(n), uint64(part.Number)), nil)
		}
	}
	for _, n := range b.From {
		x, _ := a.Bundle(n)
		if x.Pieces > came {
			a.fewer(n, came)
			came = 0
			continue
		}
		came -= x.Pieces
		a.home(n, 0)
		a.alter(n, func(x *scan.Bundle) {
			k := kin(x)
			k.Into, k.Had = b.Into[0].Number, x.Pieces
			x.Pieces, x.Made, x.Started, x.Voided = 0, 0, false, true
		})
	}
}

// stepped says of a bundle that a processor did its steps up to one.
func (a *apply) stepped(n tags.Number, step string) {
	a.alter(n, func(x *scan.Bundle) {
		if done := scan.StepsTo(*x, a.Line(x.Line), step); done > 0 {
			x.Done, x.Made, x.Started = done, 0, false
		}
	})
}

// claimAnswered closes a claim, and makes what it owes unless a loss has made it.
func (a *apply) claimAnswered(b event.ClaimAnswered) {
	c, ok := a.Event(b.Claim).Body.(event.Claimed)
	if !ok {
		a.missing(b.Claim)
		return
	}
	a.raw(tClaim, twoKey(uint64(c.Load), b.Claim), seqKey(a.seq))
	a.listed(c.Bundle)
	a.history(c.Load)
	x, _ := a.Bundle(c.Bundle)
	if _, made := a.Bundle(b.Rest); b.Rest != 0 && !made {
		x.Planned = 0
		a.remainder(a.owing(x), b.Rest, b.Owed, func(r *scan.Bundle) { kin(r).Replaces, r.Route = true, nil })
	}
}

// again says that what the record had as come back went with its load after all.
func (a *apply) again(b event.Loaded) {
	x, _ := a.Bundle(b.Bundle)
	if x.CameFrom() == 0 {
		return
	}
	if key := twoKey(uint64(b.Load), uint64(b.Bundle)); a.tx.Get(tBack, key) != nil {
		a.del(tBack, key)
	}
	if x.CameFrom() != b.Load || x.Kin == nil || len(x.Kin.Parents) != 1 {
		return
	}
	if of, _ := a.Bundle(x.Kin.Parents[0]); of.Load == b.Load && of.Trip != nil {
		a.alter(of.Number, func(of *scan.Bundle) { trip(of, func(t *scan.Trip) { t.Back -= min(t.Back, x.Pieces) }) })
	}
}

// Claim is a claim at a sequence, and the sequence of its answer, 0 while it is open.
func (p *Past) Claim(seq uint64) (c event.Claimed, answer uint64, ok bool) {
	if seq > p.Head() {
		return c, 0, false
	}
	if c, ok = p.Event(seq).Body.(event.Claimed); !ok {
		return c, 0, false
	}
	if v := p.tx.Get(tClaim, twoKey(uint64(c.Load), seq)); len(v) == 8 {
		answer = binary.BigEndian.Uint64(v)
	}
	return c, answer, true
}

// Claims calls f for each claim on a load, or with 0 on all, with the sequence of its answer, 0 while it
// is open, until f returns false.
func (p *Past) Claims(on tags.Number, f func(seq, answer uint64) bool) {
	var prefix []byte
	if on != 0 {
		prefix = numKey(on)
	}
	p.prefix(tClaim, prefix, func(rest, v []byte) bool {
		answer := uint64(0)
		if len(v) == 8 {
			answer = binary.BigEndian.Uint64(v)
		}
		return f(binary.BigEndian.Uint64(rest[len(rest)-8:]), answer)
	})
}

// CameBack calls f for each bundle that came back whole from a load, with how many pieces went, until f
// returns false.
func (p *Past) CameBack(from tags.Number, f func(n tags.Number, went int, seq uint64) bool) {
	p.prefix(tBack, numKey(from), func(rest, v []byte) bool {
		return len(v) != 14 || f(tags.Number(binary.BigEndian.Uint64(rest)), int(binary.BigEndian.Uint32(v)), binary.BigEndian.Uint64(v[6:]))
	})
}

// Went are all bundles that went with a load, or lie on it: those that came back too.
func (p *Past) Went(with tags.Number) []tags.Number {
	out := p.numbers(tLoaded, numKey(with))
	p.CameBack(with, func(n tags.Number, _ int, _ uint64) bool {
		out = append(out, n)
		return true
	})
	return out
}
