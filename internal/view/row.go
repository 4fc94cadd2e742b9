package view

import (
	"fmt"
	"slices"

	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

func (a *apply) putBundle(b scan.Bundle) {
	write(a, &a.bundles, tBundle, b.Number, numKey, b)
}

func (a *apply) putLot(l heat.Lot) { write(a, &a.lots, tLot, l.Number, numKey, l) }

func (a *apply) putRun(r scan.Run) { write(a, &a.runs, tRun, r.Seq, seqKey, r) }

func (a *apply) putLoad(l load.Load) { write(a, &a.loads, tLoad, l.Number, numKey, l) }

// row changes a bundle.
func (a *apply) row(n tags.Number, change func(*scan.Bundle)) {
	b, ok := a.Bundle(n)
	if !ok {
		a.missing(n)
		return
	}
	was := b
	change(&b)
	b.At = a.e.Recorded
	b.Looks = append(b.Looks, a.looks()...)
	a.putBundle(b)
	a.wasOf(was, b)
	if was.Pocket != b.Pocket || was.Station != b.Station {
		a.pocket(b)
	}
}

// looks is the event's sequence when its answer was a Check.
func (a *apply) looks() []uint64 {
	if a.e.Answer != nil && a.e.Answer.Verdict == event.Check {
		return []uint64{a.seq}
	}
	return nil
}

// bundle is a change of a bundle that is no progress.
func (a *apply) bundle(n tags.Number, change func(*scan.Bundle)) {
	a.row(n, func(b *scan.Bundle) {
		change(b)
		b.Events = append(b.Events, a.seq)
	})
}

// listed notes of what the event is about that it stands on the list to resolve, or was settled: nothing
// of the thing itself changes.
func (a *apply) listed(n tags.Number) {
	b, ok := a.Bundle(n)
	if !ok {
		if n != 0 {
			a.history(n)
		}
		return
	}
	b.Events = append(b.Events, a.seq)
	b.Looks = append(b.Looks, a.looks()...)
	a.putBundle(b)
}

// progress is a change of a bundle that can be undone, and takes it from where it lay.
func (a *apply) progress(n tags.Number, change func(*scan.Bundle)) {
	a.advance(n, func(b *scan.Bundle) {
		change(b)
		unstage(b)
		if b.Place != 0 && !a.placedSince(*b) {
			b.Place = 0
		}
	})
}

// advance is progress of a bundle that does not move it.
func (a *apply) advance(n tags.Number, change func(*scan.Bundle)) {
	a.row(n, func(b *scan.Bundle) {
		change(b)
		b.Progress = append(b.Progress, a.seq)
	})
}

// placedSince says whether a bundle was put down after what happened now: a late scan of the work on it
// does not take it from where it lies.
func (a *apply) placedSince(b scan.Bundle) bool {
	if a.when() >= b.At {
		return false
	}
	for _, seq := range slices.Backward(b.Events) {
		if e := a.Event(seq); e.Body.Kind() == (event.Placed{}).Kind() {
			return when(e) > a.when()
		}
	}
	return false
}

// pop makes the newest progress of a bundle one that cannot be undone any more.
func pop(b *scan.Bundle) {
	if last := len(b.Progress) - 1; last >= 0 {
		b.Events = append(b.Events, b.Progress[last])
		b.Progress = b.Progress[:last]
	}
}

// alter changes more of a bundle by an event that has changed it once.
func (a *apply) alter(n tags.Number, change func(*scan.Bundle)) {
	if x, ok := a.Bundle(n); ok {
		change(&x)
		a.putBundle(x)
	}
}

// void takes a bundle out of the work, and off the load that it is planned on.
func (a *apply) void(n tags.Number) {
	if x, ok := a.Bundle(n); ok {
		a.unplan(x)
	}
	a.bundle(n, func(x *scan.Bundle) {
		a.away(x)
		unstage(x)
		x.Voided, x.Planned = true, 0
	})
}

func (a *apply) run(seq uint64, change func(*scan.Run)) {
	r, ok := a.Run(seq)
	if !ok {
		a.missing(fmt.Sprintf("run %d", seq))
		return
	}
	was := r
	change(&r)
	a.putRun(r)
	a.wasIn(was, r)
}

func (a *apply) floor(station string, change func(*scan.Floor)) {
	f := a.Floor(station)
	f.Feeds = slices.Clone(f.Feeds)
	change(&f)
	a.put(tFloor, stationKey(station), f)
	a.floors.set(station, f, true)
}

func (a *apply) load(n tags.Number, change func(*load.Load)) {
	l, ok := a.Load(n)
	if !ok {
		a.missing(n)
		return
	}
	change(&l)
	a.putLoad(l)
}
