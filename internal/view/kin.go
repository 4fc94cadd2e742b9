package view

import (
	"slices"

	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// kin changes what a bundle keeps of its kin: on a copy, since rows that were read are shared.
func kin(b *scan.Bundle) *scan.Kin {
	k := scan.Kin{}
	if b.Kin != nil {
		k = *b.Kin
	}
	b.Kin = &k
	return b.Kin
}

// mishap applies what happens to bundles beside their route: lost pieces, splits, merges.
func (a *apply) mishap() {
	switch b := a.e.Body.(type) {
	case event.PiecesLost:
		a.lost(b)
	case event.BundleSplit:
		a.split(b)
	case event.BundlesMerged:
		a.merged(b)
	}
}

// inRun changes what a bundle lost in the run that it is being cut in, if it is.
func (a *apply) inRun(x scan.Bundle, pieces int) {
	for i := len(x.Runs) - 1; i >= 0; i-- {
		if r, ok := a.Run(x.Runs[i]); !ok || !r.Cutting(x.Number) {
			continue
		}
		a.run(x.Runs[i], func(r *scan.Run) {
			toBeMade(r, x.Number, func(m *scan.Member) { m.Lost += pieces })
		})
		return
	}
}

// lost takes pieces from a bundle, and makes the one that replaces them. Pieces that were cut stay in the
// count of the run that cut them.
func (a *apply) lost(b event.PiecesLost) {
	x, _ := a.Bundle(b.Bundle)
	a.inRun(x, b.Pieces)
	a.advance(b.Bundle, func(x *scan.Bundle) {
		k := kin(x)
		if k.Lost += b.Pieces; b.Why == event.Sample {
			k.Sampled += b.Pieces
		}
		if x.Shipped {
			k.Away += b.Pieces
		}
		if scan.FromMade(*x, a.Line(x.Line), b.Why) {
			x.Made -= b.Pieces
		}
		if x.Pieces -= b.Pieces; x.Pieces == 0 {
			a.away(x)
			unstage(x)
			x.Voided, x.Planned = true, 0
		}
		a.share(*x)
	})
	if b.Rest != 0 {
		truck, ok := a.Load(x.Planned)
		a.remainder(a.owing(x), b.Rest, b.Owed, func(r *scan.Bundle) {
			// It is made anew as its line wants, whatever the lost ones had done; that truck may have left.
			if kin(r).Replaces, r.Route = true, nil; ok && truck.Shipped != 0 {
				r.Planned = 0
			}
		})
	}
	if b.Pieces == x.Pieces {
		a.unplan(x) // only now: what replaces it goes where it was planned
	}
}

// split ties pieces of a bundle as bundles of their own: as far as it is, of the same runs.
func (a *apply) split(b event.BundleSplit) {
	x, _ := a.Bundle(b.Bundle)
	for _, part := range b.Into {
		a.remainder(x, part.Number, part.Pieces, func(r *scan.Bundle) {
			r.Done, r.Runs, r.Station, r.Place, r.Pocket = x.Done, slices.Clone(x.Runs), x.Station, x.Place, x.Pocket
			kin(r).Parents = []tags.Number{b.Bundle}
			r.Kin.Replaces = x.Replaces()
		})
		a.beside(x, part.Number)
		a.raw(tPart, twoKey(uint64(b.Bundle), uint64(part.Number)), nil)
	}
	a.advance(b.Bundle, func(x *scan.Bundle) {
		for _, part := range b.Into {
			x.Pieces -= part.Pieces
		}
	})
}

// merged ties bundles into one. The others keep what they had for the undoing, and have nothing.
func (a *apply) merged(b event.BundlesMerged) {
	var runs []uint64
	for _, n := range b.From {
		x, _ := a.Bundle(n)
		runs = append(runs, x.Runs...)
		a.unplan(x)
		a.bundle(n, func(x *scan.Bundle) {
			k := kin(x)
			k.Into, k.Had = b.Into, x.Pieces
			a.away(x)
			unstage(x)
			x.Pieces, x.Voided, x.Planned = 0, true, 0
		})
		a.raw(tPart, twoKey(uint64(n), uint64(b.Into)), nil)
	}
	a.advance(b.Into, func(x *scan.Bundle) {
		x.Pieces = b.Pieces
		x.Runs = slices.Concat(x.Runs, runs)
		k := kin(x)
		k.Parents = slices.Concat(k.Parents, b.From)
	})
}

// mishapUndone takes the newest such progress of a bundle back.
func (a *apply) mishapUndone(n tags.Number, body event.Body, back func(func(*scan.Bundle))) {
	x, _ := a.Bundle(n)
	switch b := body.(type) {
	case event.PiecesLost:
		a.inRun(x, -b.Pieces)
		back(func(x *scan.Bundle) {
			k := kin(x)
			if k.Lost -= b.Pieces; b.Why == event.Sample {
				k.Sampled -= b.Pieces
			}
			if x.Shipped {
				k.Away -= b.Pieces
			}
			if x.Pieces == 0 {
				x.Voided = false
			}
			x.Pieces, x.Made = x.Pieces+b.Pieces, a.madeOf(*x)
			a.share(*x)
		})
		if b.Rest != 0 {
			a.drop(b.Rest)
		}
	case event.BundleSplit:
		for _, part := range b.Into {
			a.void(part.Number)
			a.bundle(part.Number, func(x *scan.Bundle) { x.Pieces, x.Done, x.Runs = 0, 0, nil })
			a.del(tPart, twoKey(uint64(n), uint64(part.Number)))
		}
		back(func(x *scan.Bundle) {
			for _, part := range b.Into {
				x.Pieces += part.Pieces
			}
		})
	case event.BundlesMerged:
		runs := 0
		for _, one := range b.From {
			a.bundle(one, func(from *scan.Bundle) {
				k := kin(from)
				from.Pieces, from.Voided, from.Place, from.Station = k.Had, false, x.Place, x.Station
				k.Into, k.Had = 0, 0
				runs += len(from.Runs)
			})
		}
		back(func(x *scan.Bundle) {
			for _, one := range b.From {
				from, _ := a.Bundle(one)
				x.Pieces -= from.Pieces
			}
			x.Runs = x.Runs[:len(x.Runs)-runs]
			k := kin(x)
			k.Parents = k.Parents[:len(k.Parents)-len(b.From)]
		})
		x, _ = a.Bundle(n)
		for _, one := range b.From {
			if !slices.Contains(x.Kin.Parents, one) { // it may have been split off there before
				a.del(tPart, twoKey(uint64(one), uint64(n)))
			}
		}
	}
}

// drop voids a bundle that nothing is made of, if that has not been done before.
func (a *apply) drop(n tags.Number) {
	if x, _ := a.Bundle(n); !x.Voided {
		a.void(n)
	}
}

// Parts are the bundles that pieces of a bundle were tied into: split off, or merged.
func (p *Past) Parts(n tags.Number) []tags.Number { return p.numbers(tPart, numKey(n)) }

// Rests is how many numbers were parted from a bundle and from those parted from it.
func (p *Past) Rests(of scan.Bundle) int {
	rests := of.Rest
	newest, _ := p.Newest(of.Line)
	all := p.versions(p.Line(newest))
	for _, l := range all {
		for _, n := range p.numbers(tRest, seqKey(l.Seq)) {
			if b, _ := p.Bundle(n); ofAny(b, all) && b.K == of.K {
				rests = max(rests, b.Rest)
			}
		}
	}
	return rests
}

// past adds to a bundle's history what happened to its pieces under other numbers: of one that was split,
// until then; of one that was merged into it, all.
func (p *Past) past(b scan.Bundle, seen map[tags.Number]bool) (out []uint64) {
	if seen[b.Number] || b.Kin == nil {
		return nil
	}
	seen[b.Number] = true
	for _, n := range b.Kin.Parents {
		from, ok := p.Bundle(n)
		if !ok || seen[n] {
			continue
		}
		until := ^uint64(0)
		if from.Into() == 0 && len(b.Events) > 0 {
			until = b.Events[0]
		}
		for _, seq := range slices.Concat(p.seqs(tHistory, numKey(n)), from.Events, from.Progress, p.past(from, seen)) {
			if seq <= until {
				out = append(out, seq)
			}
		}
	}
	return out
}
