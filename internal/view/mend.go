package view

import (
	"encoding/binary"
	"slices"
	"sort"

	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// mend restates runs: the lots that they may have drawn from, what they drew, and what their remnants may
// be left of. Everything else follows from those rows.
func (a *apply) mend(b event.ChargeMended) {
	if b.Lot != 0 {
		a.history(b.Lot)
	}
	for _, m := range b.Runs {
		r, ok := a.Run(m.Run)
		if !ok {
			a.missing(m.Run)
			continue
		}
		was := a.Closing(r)
		lots := m.Lots
		if m.Closed != nil {
			lots = m.Closed.Lots
			a.redraw(was.Draws, -1)
			a.redraw(m.Closed.Draws, 1)
			for _, rem := range m.Closed.Remnants {
				a.releft(rem.Lot, lots, m.Closed.Missing > 0)
			}
		}
		a.relot(m.Run, r.Lots, lots)
		a.run(m.Run, func(r *scan.Run) {
			r.Lots, r.Mended = lots, a.seq
			if m.Closed != nil {
				r.Before, r.Missing = m.Lots, m.Closed.Missing
			}
		})
	}
}

// releft makes lots those that a remnant may be left of.
func (a *apply) releft(n tags.Number, of []tags.Number, lacking bool) {
	l, _ := a.Lot(n)
	for _, p := range l.Parents {
		a.del(tChild, twoKey(uint64(p), uint64(n)))
	}
	for _, p := range of {
		a.raw(tChild, twoKey(uint64(p), uint64(n)), nil)
	}
	a.lot(n, func(l *heat.Lot) { l.Parents, l.Lacking = of, lacking })
}

// mended is how the newest event that restated a run has it.
func (p *Past) mended(r scan.Run) event.RunMended {
	b, _ := p.Event(r.Mended).Body.(event.ChargeMended)
	i := slices.IndexFunc(b.Runs, func(m event.RunMended) bool { return m.Run == r.Seq })
	if i < 0 {
		return event.RunMended{}
	}
	return b.Runs[i]
}

// RunsAsked says which runs are looked for.
type RunsAsked struct {
	Station     string // "" any
	First, Last uint64 // by the sequence of their opening; a Last of 0 has no end
	// Ended: only those that were open after this sequence.
	Ended uint64
}

// Runs calls f for each run that is asked for, oldest first, until f returns false.
func (p *Past) Runs(q RunsAsked, f func(scan.Run) bool) {
	p.tx.Ascend(tRun, seqKey(q.First), nil, func(k, v []byte) bool {
		if q.Last != 0 && binary.BigEndian.Uint64(k) > q.Last {
			return false
		}
		r := decode[scan.Run](v)
		if q.Station != "" && r.Station != q.Station || len(r.Members) == 0 || r.By != 0 && r.By < q.Ended {
			return true
		}
		return f(r)
	})
}

// SeqAt is the first sequence that was recorded at a time (Unix ms) or later; one more than the newest,
// when there is none.
func (p *Past) SeqAt(ms int64) uint64 {
	return uint64(sort.Search(int(p.Head())+1, func(i int) bool { return p.When(uint64(i)) >= ms }))
}

// RunsBefore calls f for each run of a station that was opened before a sequence, or with 0 for all, the
// newest first, until f returns false.
func (p *Past) RunsBefore(station string, before uint64, f func(scan.Run) bool) {
	var end []byte
	if before != 0 {
		end = seqKey(before)
	}
	p.tx.Descend(tRun, nil, end, func(_, v []byte) bool {
		r := decode[scan.Run](v)
		return r.Station != station || len(r.Members) == 0 || f(r)
	})
}
