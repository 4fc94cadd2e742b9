package view

import (
	"fmt"
	"slices"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// work applies the steps of bundles, and what takes them back.
func (a *apply) work() {
	switch b := a.e.Body.(type) {
	case event.RunOpened:
		x, _ := a.Bundle(b.Bundle)
		l := a.Line(x.Line)
		r := scan.Run{Seq: a.seq, Station: b.Station, Steel: l.Steel, Lots: b.Lots, Said: b.Said, At: a.e.Recorded}
		r.Members = []scan.Member{{Bundle: b.Bundle, Length: l.Length, Pieces: x.ToDo()}}
		a.putRun(r)
		for _, n := range b.Lots {
			a.raw(tLotRun, twoKey(uint64(n), a.seq), nil)
		}
		a.begin(b.Bundle, a.seq, b.Station, b.Pocket)
		if !b.Aside {
			a.floor(b.Station, func(f *scan.Floor) { f.Run, f.Card = a.seq, b.Bundle })
		}
	case event.RunJoined:
		x, _ := a.Bundle(b.Bundle)
		l := a.Line(x.Line)
		station := ""
		a.run(b.Run, func(r *scan.Run) {
			station = r.Station
			r.Members = append(slices.Clip(r.Members), scan.Member{Bundle: b.Bundle, Length: l.Length, Pieces: x.ToDo()})
			a.candidates(r, b.Lots)
		})
		a.begin(b.Bundle, b.Run, station, b.Pocket)
		a.floor(station, func(f *scan.Floor) { f.Card = b.Bundle })
	case event.CardShown:
		a.floor(b.Station, func(f *scan.Floor) { f.Card = b.Bundle })
		a.history(b.Bundle)
	case event.CutDone:
		a.cutDone(b, nil)
	case event.CoilCut:
		cut, _ := scan.CutOf(b)
		a.cutDone(cut, &b.Closed)
	case event.PartDone:
		a.partDone(b)
	case event.StepStarted:
		a.progress(b.Bundle, func(x *scan.Bundle) {
			a.away(x)
			x.Started, x.Station = true, b.Station
		})
	case event.StepDone:
		a.putAway(b.Bundle)
		a.progress(b.Bundle, func(x *scan.Bundle) { x.Started, x.Station, x.Done, x.Made = false, b.Station, x.Done+1, 0 })
	case event.Undone:
		a.undo(b)
	}
}

// begin marks a bundle as started in a run.
func (a *apply) begin(n tags.Number, run uint64, station, pocket string) {
	a.progress(n, func(x *scan.Bundle) {
		x.Started, x.Station, x.Pocket, x.Voided = true, station, pocket, false
		x.Runs = append(x.Runs, run)
	})
}

// cutDone books a bundle cut, from bars or with coil from coil.
func (a *apply) cutDone(b event.CutDone, coil *event.CoilClosed) {
	seq := b.Run
	if seq == 0 {
		seq = a.seq - 1
	}
	station := ""
	a.run(seq, func(r *scan.Run) {
		station = r.Station
		a.made(r, b.Bundle, b.Pieces, b.Lots, b.Closed, coil)
	})
	a.progress(b.Bundle, func(x *scan.Bundle) {
		x.Started, x.Done, x.Pieces, x.Made = false, x.Done+1, x.Made+b.Pieces, 0
		a.moved(x, station)
	})
	if b.Rest != 0 {
		x, _ := a.Bundle(b.Bundle)
		a.remainder(a.owing(x), b.Rest, b.Owed, func(*scan.Bundle) {})
	}
	a.floor(station, func(f *scan.Floor) {
		if b.Closed == nil && coil == nil {
			return
		}
		if f.Closed = max(f.Closed, a.when()); f.Run == seq {
			f.Run, f.Card = 0, 0
		}
	})
}

// remainder makes a bundle that a line gets later, beside x and for the same truck: "2b" of "2".
func (a *apply) remainder(x scan.Bundle, n tags.Number, pieces int, change func(*scan.Bundle)) {
	if x.Number == 0 {
		a.missing(fmt.Sprintf("what %v is a part of", n))
		return
	}
	rest := scan.Bundle{
		Number: n, Line: x.Line, K: x.K, Rest: a.Rests(x) + 1, N: x.N, Pieces: pieces, Route: x.Route, Planned: x.Planned,
		At: a.e.Recorded, Events: []uint64{a.seq}, Looks: a.looks(),
	}
	change(&rest)
	a.putBundle(rest)
	a.raw(tRest, twoKey(x.Line, uint64(n)), nil)
	a.taken(n)
	if s, ok := a.Spot(x.Planned, x.Number); ok && rest.Planned == x.Planned {
		a.planned(0, x.Planned, load.Spot{Bundle: n, Stop: s.Stop, At: s.At})
	}
}

// candidates adds lots to those that a run may draw from.
func (a *apply) candidates(r *scan.Run, lots []tags.Number) {
	for _, n := range lots {
		if !slices.Contains(r.Lots, n) {
			r.Lots = append(slices.Clip(r.Lots), n)
			a.raw(tLotRun, twoKey(uint64(n), r.Seq), nil)
		}
	}
}

// close books what a run drew and left.
func (a *apply) close(r *scan.Run, c *event.RunClosed) {
	r.By, r.Missing = a.seq, c.Missing
	a.narrow(r, c.Lots)
	a.redraw(c.Draws, 1)
	for _, m := range c.Remnants {
		a.newLot(heat.Lot{
			Number: m.Lot, Steel: c.Steel, Length: m.Length, Received: m.Bars, Place: m.Place,
			Run: r.Seq, Parents: r.Lots, At: a.e.Recorded, Lacking: c.Missing > 0,
		})
		for _, n := range r.Lots {
			a.raw(tChild, twoKey(uint64(n), uint64(m.Lot)), nil)
		}
	}
}

// closeCoil books what a run drew from coil.
func (a *apply) closeCoil(r *scan.Run, c *event.CoilClosed) {
	r.By, r.Lacking = a.seq, c.Missing
	a.narrow(r, c.Lots)
	a.redrawCoil(c.Draws, 1)
}

// narrow makes lots, if any were said at the closing of a run, those that it may have drawn from.
func (a *apply) narrow(r *scan.Run, lots []tags.Number) {
	if len(lots) > 0 {
		r.Before, r.Lots = r.Lots, lots
		a.relot(r.Seq, r.Before, r.Lots)
	}
}

// redraw books draws, or with -1 takes them back.
func (a *apply) redraw(draws []event.Draw, sign int) {
	for _, d := range draws {
		a.lot(d.Lot, func(l *heat.Lot) {
			l.Taken += sign * d.Bars
			l.Over += sign * d.Over
		})
	}
}

// redrawCoil books draws from coil, or with -1 takes them back.
func (a *apply) redrawCoil(draws []event.MassDraw, sign bar.Mass) {
	for _, d := range draws {
		a.lot(d.Lot, func(l *heat.Lot) {
			l.MassTaken += sign * d.Mass
			l.MassOver += sign * d.Over
		})
	}
}

// relot moves the index of a run from some lots to others.
func (a *apply) relot(run uint64, from, to []tags.Number) {
	for _, n := range from {
		a.del(tLotRun, twoKey(uint64(n), run))
	}
	for _, n := range to {
		a.raw(tLotRun, twoKey(uint64(n), run), nil)
	}
}

// reopen takes a closing back.
func (a *apply) reopen(r *scan.Run) {
	bars, coil := a.closing(*r)
	a.redraw(bars.Draws, -1)
	a.redrawCoil(coil.Draws, -1)
	for _, m := range bars.Remnants {
		// It stays a child of its parents: a run may name it as a candidate, though none of it was drawn.
		a.lot(m.Lot, func(l *heat.Lot) { l.Gone = true })
	}
	if len(bars.Lots)+len(coil.Lots) > 0 {
		a.relot(r.Seq, r.Lots, r.Before)
		r.Lots, r.Before = r.Before, nil
	}
	r.By, r.Missing, r.Lacking = 0, 0, 0
}

// undo takes back the newest progress of a bundle.
func (a *apply) undo(u event.Undone) {
	what := a.Event(u.Seq)
	x, ok := a.Bundle(u.Bundle)
	if !ok {
		a.missing(u.Bundle)
		return
	}
	if len(x.Progress) == 0 || x.Progress[len(x.Progress)-1] != u.Seq {
		if a.some {
			return // not all that happened to this bundle is among them
		}
		a.fail(fmt.Errorf("record %d is not the newest progress of %v", u.Seq, u.Bundle))
		return
	}
	back := func(change func(*scan.Bundle)) {
		a.bundle(u.Bundle, func(x *scan.Bundle) {
			pop(x)
			change(x)
		})
	}
	switch b := what.Body.(type) {
	case event.RunOpened, event.RunJoined:
		seq := x.Runs[len(x.Runs)-1]
		a.leave(seq, u)
		back(a.unstart)
		a.refall(u.Bundle)
	case event.CutDone:
		a.uncut(u, b, back)
	case event.CoilCut:
		cut, _ := scan.CutOf(b)
		a.uncut(u, cut, back)
	case event.PartDone:
		back(func(x *scan.Bundle) { x.Made = a.madeOf(*x) })
		if seq := scan.EndedRun(a.Past, u.Seq); seq != 0 {
			a.resume(seq, u)
		} else {
			a.row(u.Bundle, func(x *scan.Bundle) { x.Started, x.Station = true, b.Station })
		}
	case event.StepStarted:
		a.putAway(u.Bundle)
		back(func(x *scan.Bundle) { x.Started = false })
	case event.StepDone:
		back(func(x *scan.Bundle) {
			x.Done--
			x.Started, x.Made = true, a.madeOf(*x)
		})
	case event.BundleAssigned:
		back(func(x *scan.Bundle) { a.unsay(x, u.Seq) })
		a.refall(u.Bundle)
	case event.HeatsDeclared:
		back(func(x *scan.Bundle) { a.unsay(x, u.Seq) })
		// It stays a lot of its heats: a run may name it as a candidate, though none of it was drawn.
		a.lot(b.Lot, func(l *heat.Lot) { l.Gone, l.Received = true, 0 })
		a.refall(u.Bundle)
	case event.Staged:
		back(func(x *scan.Bundle) {
			if x.Staged() != 0 { // else it was put down elsewhere since
				x.Place = 0
			}
			unstage(x)
		})
	case event.Loaded:
		back(func(x *scan.Bundle) { x.Load = 0 })
		a.unload(b.Load, u.Bundle, b.Mass)
		a.history(b.Load)
		a.refall(u.Bundle)
	case event.PiecesLost, event.BundleSplit, event.BundlesMerged:
		a.mishapUndone(u.Bundle, b, back)
	default:
		a.fail(fmt.Errorf("record %d (%v) is no progress", u.Seq, what.Body.Kind()))
	}
}

// uncut takes a bundle cut back, and voids what it lacked.
func (a *apply) uncut(u event.Undone, b event.CutDone, back func(func(*scan.Bundle))) {
	asked := b.Asked
	if rest, _ := a.Bundle(b.Rest); a.fell(rest) {
		asked -= b.Owed // the list was revised since, and what was missing is owed elsewhere
	}
	back(func(x *scan.Bundle) {
		x.Done--
		x.Pieces, x.Made = asked, a.madeOf(*x)
	})
	a.resume(scan.EndedRun(a.Past, u.Seq), u)
	if b.Rest != 0 {
		a.drop(b.Rest)
	}
}

// leave takes a bundle out of its open run. A run without bundles is closed with nothing drawn; one
// with only done bundles left closes as the undoing says.
func (a *apply) leave(seq uint64, u event.Undone) {
	station, card := "", tags.Number(0)
	a.run(seq, func(r *scan.Run) {
		station = r.Station
		r.Members = slices.DeleteFunc(slices.Clone(r.Members), func(m scan.Member) bool { return m.Bundle == u.Bundle && !m.Done })
		switch {
		case len(r.Members) == 0:
			r.By = a.seq
			a.relot(seq, r.Lots, nil)
		case u.Closed != nil:
			a.close(r, u.Closed)
		default:
			for _, m := range r.Members {
				if !m.Done {
					card = m.Bundle
				}
			}
		}
	})
	a.floor(station, func(f *scan.Floor) {
		if u.Closed != nil {
			f.Closed = max(f.Closed, a.when())
		}
		if card == 0 {
			f.Run, f.Card = 0, 0
		} else if f.Card == u.Bundle {
			f.Card = card
		}
	})
}
