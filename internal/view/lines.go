package view

import (
	"encoding/binary"
	"fmt"
	"slices"

	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

var _ barlist.Past = (*Past)(nil)

// List is a bar list that was taken whole.
type List struct {
	event.ListTaken
	Seq uint64 `cbor:"20,keyasint"`
	At  int64  `cbor:"21,keyasint"`
	// Earlier holds the sequences of its earlier revisions, oldest first.
	Earlier []uint64 `cbor:"22,keyasint,omitempty"`
}

// List finds a list of a job, as taking the next revision of it asks.
func (p *Past) List(job, list string) (s barlist.Standing, ok bool) {
	l, ok := p.ListOf(job, list)
	if !ok {
		return s, false
	}
	s.SHA256, s.Revision = l.SHA256, l.Revision
	for _, seq := range l.Earlier {
		if was, ok := p.Event(seq).Body.(event.ListTaken); ok {
			s.Revisions = append(s.Revisions, was.Revision)
		}
	}
	s.Revisions = append(s.Revisions, l.Revision)
	return s, true
}

// Standing are all lines that were taken under a list, the newest of each mark, with their bundles.
func (p *Past) Standing(job, list string) (out []barlist.Old) {
	for _, l := range p.LinesOf(job, list) {
		if n := len(out); n > 0 && out[n-1].Mark == l.Mark {
			continue // what stood under the mark before
		}
		o := barlist.Old{Seq: l.Seq, LineTaken: l.LineTaken}
		newest, withdrawn := p.Newest(l.Seq)
		if newest != l.Seq {
			o.Into = p.Line(newest).List
			out = append(out, o)
			continue
		}
		o.Withdrawn = withdrawn
		for _, b := range p.BundlesOf(l) {
			if !b.Voided {
				o.Bundles = append(o.Bundles, p.tied(b))
			}
		}
		slices.SortFunc(o.Bundles, func(a, b barlist.Tied) int { return int(int64(a.Number) - int64(b.Number)) })
		out = append(out, o)
	}
	return out
}

func (p *Past) tied(b scan.Bundle) barlist.Tied {
	t := barlist.Tied{
		Number: b.Number, Name: fmt.Sprint(b.Name(), "/", b.N), Pieces: b.Pieces, Line: b.Line, Made: p.Line(b.Line).LineTaken,
		Load: b.Load, Planned: b.Planned, State: barlist.NotBegun,
	}
	if at, ok := p.Spot(b.Planned, b.Number); ok {
		t.Stop = at.Stop
	}
	switch {
	case b.Shipped:
		t.State = barlist.Left
	case b.Load != 0:
		t.State = barlist.OnTruck
	case b.Started || b.Made > 0:
		t.State = barlist.AtWork
	case b.Begun():
		t.State = barlist.Made
	}
	return t
}

// StockJob is the first job of the shop's own stock.
func (p *Past) StockJob() (job string, ok bool) {
	p.Jobs(func(j event.JobSet) bool {
		job, ok = j.Job, j.Stock
		return !ok
	})
	if !ok {
		job = ""
	}
	return job, ok
}

// Surplus finds the body and sequence of a line by job, list and mark.
func (p *Past) Surplus(job, list, mark string) (event.LineTaken, uint64, bool) {
	l, ok := p.LineOf(job, list, mark)
	if !ok {
		return event.LineTaken{}, 0, false
	}
	return l.LineTaken, l.Seq, true
}

// later finds the event that took the place of a line, or of the withdrawal of one.
func (p *Past) later(seq uint64) (at uint64, withdrawn, ok bool) {
	v := p.tx.Get(tLater, seqKey(seq))
	if len(v) != 9 {
		return 0, false, false
	}
	return binary.BigEndian.Uint64(v), v[8] == 1, true
}

func (a *apply) setLater(seq uint64, withdrawn bool) {
	v := append(seqKey(a.seq), 0)
	if withdrawn {
		v[8] = 1
	}
	a.replace(tLater, seqKey(seq), v)
}

// Newest is the line that stands in the place of a line now, which may be itself, and whether that was
// withdrawn.
func (p *Past) Newest(line uint64) (newest uint64, withdrawn bool) {
	for {
		at, withdrawn, ok := p.later(line)
		if ok && withdrawn {
			if at, _, ok = p.later(at); !ok {
				return line, true
			}
		}
		if !ok {
			return line, false
		}
		line = at
	}
}

// InPlace says whether a bundle fell away with a revision of its list, and which bundle that is not
// begun stands in its place; 0 is none.
func (p *Past) InPlace(b scan.Bundle) (n tags.Number, fell bool) {
	if !p.fell(b) {
		return 0, false
	}
	newest, withdrawn := p.Newest(b.Line)
	if withdrawn {
		return 0, true
	}
	for _, o := range p.BundlesOf(p.Line(newest)) {
		if waits(o) {
			return o.Number, true
		}
	}
	return 0, true
}

// fell says whether a bundle that is not begun was taken out of the work by a revision of its list.
func (p *Past) fell(b scan.Bundle) bool {
	for at, _, ok := p.later(b.Line); ok; at, _, ok = p.later(at) {
		if slices.Contains(b.Events, at) {
			return true
		}
	}
	return false
}

// refall takes a bundle out of the work again of which something was recorded though the list was
// revised, once that is taken back.
func (a *apply) refall(n tags.Number) {
	if b, ok := a.Bundle(n); ok && waits(b) && a.fell(b) {
		a.void(n)
	}
}

// waits says whether a bundle is to be made and nothing of it is.
func waits(b scan.Bundle) bool { return !b.Voided && !b.Begun() && b.Load == 0 }

// owing is a bundle as the line wants it that stands in the place of its own: what is still owed is made
// to what the list says now.
func (a *apply) owing(x scan.Bundle) scan.Bundle {
	if newest, _ := a.Newest(x.Line); newest != x.Line {
		x.Line, x.Route = newest, nil
	}
	return x
}

// versions are a line and those whose place it took, the newest first.
func (p *Past) versions(l *scan.Line) []*scan.Line {
	out := []*scan.Line{l}
	for l.Was != 0 {
		l = p.Line(l.Was)
		out = append(out, l)
	}
	return out
}

// ofAny says whether a bundle is of one of these lines: one that got it first may have given it away.
func ofAny(b scan.Bundle, lines []*scan.Line) bool {
	return slices.ContainsFunc(lines, func(l *scan.Line) bool { return l.Seq == b.Line })
}

// origin is the sequence of the line with which a bundle got its number, or of that which it is of.
func (p *Past) origin(b scan.Bundle) uint64 {
	for _, l := range p.versions(p.Line(b.Line)) {
		if i := b.Number.Serial() - l.First.Serial(); len(l.Bundles) > 0 && i >= 0 && i < len(l.Bundles) {
			return l.Seq
		}
	}
	return b.Line
}

// lineTaken makes the bundles of a line, which are named on from those of the line whose place it takes.
func (a *apply) lineTaken(b event.LineTaken, was uint64) {
	named, before := 0, []uint64{}
	if was != 0 {
		for _, l := range a.versions(a.Line(was)) {
			named += len(l.Bundles)
			before = append(before, l.Seq)
		}
	}
	if l, ok := a.LineOf(b.Job, b.List, b.Mark); ok && !slices.Contains(before, l.Seq) {
		// One that was withdrawn, or went into another list, stays in the list beside the one that comes.
		a.raw(tLine, textSeqKey(l.Seq, b.Job, b.List, b.Mark), seqKey(l.Seq))
	}
	a.replace(tLine, textKey(b.Job, b.List, b.Mark), seqKey(a.seq))
	a.raw(tMark, textSeqKey(a.seq, b.Mark), nil)
	for i, pieces := range b.Bundles {
		n, err := tags.New(tags.Bundle, a.v.plant, b.First.Serial()+i)
		if err != nil {
			a.fail(err)
			return
		}
		if _, asked := a.about[n]; a.some && !asked {
			continue
		}
		a.putBundle(scan.Bundle{Number: n, Line: a.seq, K: named + i + 1, N: named + len(b.Bundles), Pieces: pieces, At: a.e.Recorded})
		a.taken(n)
	}
}

// lineChanged lets a line take the place of another one.
func (a *apply) lineChanged(b event.LineChanged) {
	a.fallAway(b.Line, b.Stay)
	if at, withdrawn, ok := a.later(b.Line); ok && withdrawn {
		a.setLater(at, false)
	} else {
		a.setLater(b.Line, false)
	}
	a.lineTaken(b.Taken, b.Line)
}

// fallAway takes the bundles of a line and of those before it that are not begun out of the work. Of its
// own, the first that have so many pieces at most together stay, and are of the line that comes now.
func (a *apply) fallAway(line uint64, stay int) {
	bundles := a.BundlesOf(a.Line(line))
	slices.SortFunc(bundles, func(x, y scan.Bundle) int { return int(int64(x.Number) - int64(y.Number)) })
	for _, b := range bundles {
		switch {
		case !waits(b):
		case b.Line == line && b.Pieces <= stay:
			stay -= b.Pieces
			a.bundle(b.Number, func(x *scan.Bundle) { x.Line = a.seq })
			a.movedRest(b, a.seq)
		default:
			a.void(b.Number)
		}
	}
}

// movedRest keeps the index of remainders when one goes over to another line.
func (a *apply) movedRest(b scan.Bundle, to uint64) {
	if key := twoKey(b.Line, uint64(b.Number)); a.tx.Get(tRest, key) != nil {
		a.del(tRest, key)
		a.raw(tRest, twoKey(to, uint64(b.Number)), nil)
	}
}

// list keeps a list that was taken, and what it was before.
func (a *apply) list(b event.ListTaken) {
	l := List{ListTaken: b, Seq: a.seq, At: a.e.Recorded}
	if was, ok := a.ListOf(b.Job, b.List); ok {
		l.Earlier = append(was.Earlier, was.Seq)
	}
	a.put(tList, textKey(b.Job, b.List), l)
}
