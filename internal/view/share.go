package view

import (
	"slices"

	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// made books what a run made of a bundle, and how it closed, if it did.
func (a *apply) made(r *scan.Run, n tags.Number, pieces int, lots []tags.Number, closed *event.RunClosed, coil *event.CoilClosed) {
	toBeMade(r, n, func(m *scan.Member) { m.Done, m.Pieces = true, pieces+m.Lost })
	a.candidates(r, lots)
	if closed != nil {
		a.close(r, closed)
	}
	if coil != nil {
		a.closeCoil(r, coil)
	}
}

// toBeMade changes what a run keeps of a bundle that it has still to make.
func toBeMade(r *scan.Run, n tags.Number, change func(*scan.Member)) {
	r.Members = slices.Clone(r.Members)
	for i := range r.Members {
		if m := &r.Members[i]; m.Bundle == n && !m.Done {
			change(m)
		}
	}
}

// partDone books a part of a step.
func (a *apply) partDone(b event.PartDone) {
	if seq := a.partRun(b); seq != 0 {
		card := tags.Number(0)
		a.run(seq, func(r *scan.Run) {
			a.made(r, b.Bundle, b.Pieces, b.Lots, b.Closed, b.Coil)
			card = toMake(*r)
		})
		a.floor(b.Station, func(f *scan.Floor) {
			if b.Closed != nil {
				f.Closed = max(f.Closed, a.when())
			}
			switch {
			case f.Run != seq:
			case b.Closed != nil || b.Coil != nil:
				f.Run, f.Card = 0, 0
			case b.Over && f.Card == b.Bundle:
				f.Card = card
			}
		})
	}
	a.putAway(b.Bundle)
	a.progress(b.Bundle, func(x *scan.Bundle) {
		x.Made += b.Pieces
		x.Started = a.share(*x)
		a.moved(x, b.Station)
	})
}

// putAway takes the card of a bundle whose step draws no stock off the screen where it was worked on.
func (a *apply) putAway(n tags.Number) {
	x, _ := a.Bundle(n)
	if f := a.Floor(x.Station); f.Card == n && f.Run == 0 {
		a.floor(x.Station, func(f *scan.Floor) { f.Card = 0 })
	}
}

// toMake is a bundle of a run that is not done, 0 if all are.
func toMake(r scan.Run) tags.Number {
	for i := len(r.Members) - 1; i >= 0; i-- {
		if !r.Members[i].Done {
			return r.Members[i].Bundle
		}
	}
	return 0
}

// share says in each run that still makes a bundle how many pieces are to be made now, and whether there
// is such a run.
func (a *apply) share(x scan.Bundle) (any bool) {
	for _, seq := range x.Runs {
		r, ok := a.Run(seq)
		if !ok || !r.Cutting(x.Number) {
			continue
		}
		any = true
		a.run(seq, func(r *scan.Run) {
			toBeMade(r, x.Number, func(m *scan.Member) { m.Pieces = x.ToDo() + m.Lost })
		})
	}
	return any
}

// partRun is the run whose part the event that is applied ends.
func (a *apply) partRun(b event.PartDone) uint64 {
	if b.Run != 0 {
		return b.Run
	}
	if opened, ok := a.Body(a.seq - 1).(event.RunOpened); ok && opened.Bundle == b.Bundle {
		return a.seq - 1
	}
	return 0
}

// madeOf is how much of its next step was made in parts, by what can be undone of a bundle.
func (a *apply) madeOf(x scan.Bundle) int {
	made, begun := 0, 0
	for _, seq := range x.Progress {
		switch b := a.Body(seq).(type) {
		case event.CutDone, event.CoilCut, event.StepDone:
			made, begun = 0, 0
		case event.RunOpened, event.RunJoined, event.StepStarted:
			begun++
		case event.PartDone:
			made, begun = made+b.Pieces, begun-1
		case event.PiecesLost:
			if scan.FromMade(scan.Bundle{Done: x.Done, Route: x.Route, Made: made, Started: begun > 0}, a.Line(x.Line), b.Why) {
				made -= b.Pieces
			}
		}
	}
	return made
}

// resume puts a bundle back into the run whose making of it was undone.
func (a *apply) resume(seq uint64, u event.Undone) {
	station := ""
	a.run(seq, func(r *scan.Run) {
		station = r.Station
		if r.By != 0 {
			a.reopen(r)
		}
		a.candidates(r, u.Lots)
		r.Members = slices.Clone(r.Members)
		for i := len(r.Members) - 1; i >= 0; i-- {
			if m := &r.Members[i]; m.Bundle == u.Bundle {
				m.Done = false
				break
			}
		}
	})
	a.row(u.Bundle, a.back)
	a.floor(station, func(f *scan.Floor) { f.Run, f.Card = seq, u.Bundle })
}

// back makes a bundle of which something was undone one that is where its newest progress left it.
func (a *apply) back(x *scan.Bundle) {
	x.Started = a.share(*x)
	for i := len(x.Progress) - 1; i >= 0; i-- {
		station := ""
		switch b := a.Body(x.Progress[i]).(type) {
		case event.RunOpened:
			station = b.Station
		case event.RunJoined:
			r, _ := a.Run(b.Run)
			station = r.Station
		case event.PartDone:
			station = b.Station
		default:
			continue // it did not move it
		}
		a.moved(x, station)
		return
	}
}

// unstart takes a bundle out of the last of its runs. What another run made of it at that station still
// lies in the pocket there.
func (a *apply) unstart(x *scan.Bundle) {
	last := len(x.Runs) - 1
	r, _ := a.Run(x.Runs[last])
	x.Runs = x.Runs[:last]
	made := slices.ContainsFunc(x.Runs, func(seq uint64) bool {
		o, _ := a.Run(seq)
		return o.Station == r.Station
	})
	if x.Pocket = ""; !made {
		a.emptyPocket(x.Number, r.Station)
	}
	a.back(x)
}
