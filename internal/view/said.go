package view

import (
	"slices"

	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// said opens a run of one bundle that is made already, and closes it at once: what a person said of a
// bundle's bars is found on the same way as what was cut here.
func (a *apply) said(n tags.Number, station string, said bool, c event.RunClosed) {
	a.row(n, func(x *scan.Bundle) {
		l := a.Line(x.Line)
		r := scan.Run{Seq: a.seq, Station: station, Steel: l.Steel, Said: said, At: a.e.Recorded}
		r.Members = []scan.Member{{Bundle: n, Length: l.Length, Pieces: x.Pieces + x.Lost(), Done: true}} // it lost some of those bars before
		a.close(&r, &c)
		a.putRun(r)
		x.Runs = append(x.Runs, a.seq)
		// What is on a truck comes off it, or is found lost, before this is taken back.
		at := len(x.Progress)
		if x.Load != 0 && at > 0 {
			at--
		}
		x.Progress = slices.Insert(slices.Clone(x.Progress), at, a.seq)
	})
}

// unsay takes that back.
func (a *apply) unsay(x *scan.Bundle, seq uint64) {
	x.Runs = slices.DeleteFunc(slices.Clone(x.Runs), func(o uint64) bool { return o == seq })
	a.run(seq, func(r *scan.Run) {
		a.reopen(r)
		r.Members, r.By = nil, a.seq
		a.relot(seq, r.Lots, nil)
	})
}

func (a *apply) assigned(b event.BundleAssigned) { a.said(b.Bundle, b.Station, b.Said, b.Closed) }

// declared gives what was bought ready made a lot of its own, all of which is the bundle.
func (a *apply) declared(b event.HeatsDeclared) {
	x, _ := a.Bundle(b.Bundle)
	line := a.Line(x.Line)
	l := heat.Lot{
		Number: b.Lot, Mill: b.Mill, Heats: b.Heats, Steel: line.Steel, Length: line.Length, Received: x.Pieces + x.Lost(),
		Melted: b.Melted, Rolled: b.Rolled, Declared: true,
	}
	a.lotIn(l, nil)
	a.said(b.Bundle, "", true, *declared(b, l))
}

// declared is how the run of a bundle closes that was bought ready made.
func declared(b event.HeatsDeclared, l heat.Lot) *event.RunClosed {
	return &event.RunClosed{Draws: []event.Draw{{Lot: b.Lot, Bars: l.Received}}, Lots: []tags.Number{b.Lot}, Steel: l.Steel}
}

// reassigned gives a bundle to another line: in the place of one of that line, or in one of its own
// behind all of them.
func (a *apply) reassigned(b event.BundleReassigned) {
	x, _ := a.Bundle(b.Bundle)
	to := scan.Bundle{K: 1, Route: x.Route}
	place, ok := a.Bundle(b.Instead)
	at, _ := a.Spot(place.Planned, b.Instead)
	switch {
	case !ok:
		for _, o := range a.BundlesOf(a.Line(b.Line)) {
			to.K = max(to.K, o.K+1)
		}
		to.N = to.K
	case b.Left > 0:
		to = scan.Bundle{K: place.K, N: place.N, Rest: a.Rests(place) + 1, Route: b.Route, Planned: place.Planned}
		a.bundle(b.Instead, func(o *scan.Bundle) {
			o.Pieces = b.Left
			kin(o).Given += x.Pieces
		})
	default:
		to = scan.Bundle{K: place.K, N: place.N, Rest: place.Rest, Route: b.Route, Planned: place.Planned}
		a.void(b.Instead)
		a.row(b.Instead, func(o *scan.Bundle) { kin(o).Given += x.Pieces })
	}
	a.unplan(x)
	a.del(tRest, twoKey(x.Line, uint64(b.Bundle)))
	a.raw(tRest, twoKey(b.Line, uint64(b.Bundle)), nil)
	a.raw(tHistory, twoKey(uint64(b.Bundle), x.Line), nil) // where it began
	a.advance(b.Bundle, func(x *scan.Bundle) {
		x.Line, x.K, x.N, x.Rest, x.Route, x.Planned = b.Line, to.K, to.N, to.Rest, to.Route, 0
		if !x.Shipped {
			x.Planned = to.Planned
		}
		if x.Staged() != x.Planned {
			unstage(x) // it lies ready for another job's truck
		}
		a.planned(0, x.Planned, load.Spot{Bundle: b.Bundle, Stop: at.Stop, At: at.At})
	})
}
