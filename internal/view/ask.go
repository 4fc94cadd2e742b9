package view

import (
	"encoding/binary"
	"slices"
	"strings"

	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/tags"
)

// Subject is the number that a scan's events are about.
func Subject(events []event.Event) tags.Number {
	if len(events) == 0 {
		return 0
	}
	switch b := events[0].Body.(type) {
	case event.LoadSet:
		return b.Load
	case event.LoadOpened:
		return b.Load
	case event.PlaceOpened:
		return b.Place
	case event.Shipped:
		return b.Load
	case event.LoadWeighed:
		return b.Load
	case event.LoadDelivered:
		return b.Load
	case event.Claimed:
		return b.Bundle
	case event.ClaimAnswered:
		return b.Rest
	case event.Undone:
		return b.Bundle
	}
	return subject(events[0].Body)
}

// ListOf finds a bar list.
func (p *Past) ListOf(job, list string) (l List, ok bool) {
	ok = p.get(tList, textKey(job, list), &l)
	return l, ok
}

// Left says why a bundle can go onto no load any more, "" when it can.
func (p *Past) Left(n tags.Number) string {
	switch b, _ := p.Bundle(n); {
	case b.Voided:
		return "is voided"
	case b.Shipped:
		return "left on load " + b.Load.String()
	}
	return ""
}

// Known says whether the number was given out here.
func (p *Past) Known(n tags.Number) bool {
	_, ok := p.Copy(n)
	return ok
}

// Copy is the newest copy of a number's tag, 0 before it was printed.
func (p *Past) Copy(n tags.Number) (copies int, known bool) {
	switch n.Kind() {
	case tags.Bundle:
		b, ok := p.Bundle(n)
		return b.Copy, ok
	case tags.Stock:
		l, ok := p.Lot(n)
		return l.Copy, ok
	case tags.Load:
		l, ok := p.Load(n)
		return l.Copy, ok
	case tags.Place:
		_, ok := p.Place(n)
		return 0, ok
	case tags.Person:
		return 0, p.Person(n)
	}
	return 0, false
}

// KnownTarget says whether what a hold is put on is known: a number, or a heat of which there is a
// lot or a cert.
func (p *Past) KnownTarget(t event.Target) bool {
	if t.Number != 0 {
		return p.Known(t.Number)
	}
	k := heat.Key{Mill: t.Mill, Heat: t.Heat}
	return len(p.LotsOfHeat(k)) > 0 || len(p.Certs(k)) > 0
}

// IsCert says whether a cert was filed at this sequence.
func (p *Past) IsCert(seq uint64) bool {
	if seq > p.Head() {
		return false
	}
	_, ok := p.Event(seq).Body.(event.CertFiled)
	return ok
}

func (p *Past) numbers(t store.Table, prefix []byte) (out []tags.Number) {
	p.prefix(t, prefix, func(rest, _ []byte) bool {
		if len(rest) == 8 { // a text with a zero byte in it is the beginning of longer keys
			out = append(out, tags.Number(binary.BigEndian.Uint64(rest)))
		}
		return true
	})
	return out
}

func (p *Past) seqs(t store.Table, prefix []byte) (out []uint64) {
	p.prefix(t, prefix, func(rest, _ []byte) bool {
		if len(rest) == 8 {
			out = append(out, binary.BigEndian.Uint64(rest))
		}
		return true
	})
	return out
}

// LotsOfHeat are the lots that came in as of a heat.
func (p *Past) LotsOfHeat(k heat.Key) []tags.Number { return p.numbers(tHeat, textKey(k.Mill, k.Heat)) }

// HeatLots are the lots that came in as of a heat of a mill, or with "" of whatever mill.
func (p *Past) HeatLots(mill, name string) (out []heat.Lot) {
	keys := []heat.Key{{Mill: mill, Heat: name}}
	if mill == "" {
		keys = p.HeatsNamed(name)
	}
	for _, k := range keys {
		for _, n := range p.LotsOfHeat(k) {
			if l, ok := p.Lot(n); ok {
				out = append(out, l)
			}
		}
	}
	return out
}

// HeatsNamed are all heats with this number, of whatever mill.
func (p *Past) HeatsNamed(name string) (out []heat.Key) {
	p.prefix(tHeatText, textKey(name), func(rest, _ []byte) bool {
		k := heat.Key{Mill: strings.TrimSuffix(string(rest), "\x00"), Heat: name}
		if len(p.LotsOfHeat(k)) > 0 {
			out = append(out, k)
		}
		return true
	})
	return out
}

// CertsNamed are the heats of certs with this text on them.
func (p *Past) CertsNamed(text string) (out []heat.Key) {
	p.prefix(tCertText, textKey(text), func(_, v []byte) bool {
		mill, rest, _ := strings.Cut(string(v), "\x00")
		out = append(out, heat.Key{Mill: mill, Heat: strings.TrimSuffix(rest, "\x00")})
		return true
	})
	return out
}

// RunsOf are the runs that may have drawn from a lot.
func (p *Past) RunsOf(lot tags.Number) []uint64 { return p.seqs(tLotRun, numKey(lot)) }

// Children are the remnants that may be left of a lot.
func (p *Past) Children(lot tags.Number) []tags.Number { return p.numbers(tChild, numKey(lot)) }

// History are the sequences of the events about a number, oldest first. Of a bundle, the closing of its
// runs is among them; of a lot, the cutting of its bars; of a load, its loading.
func (p *Past) History(n tags.Number) []uint64 {
	out := p.seqs(tHistory, numKey(n))
	switch n.Kind() {
	case tags.Bundle:
		b, _ := p.Bundle(n)
		out = append(append(append(out, p.origin(b)), b.Events...), b.Progress...)
		out = append(out, p.past(b, map[tags.Number]bool{})...)
		out = append(out, p.closings(b.Runs)...)
	case tags.Stock:
		l, _ := p.Lot(n)
		runs := p.RunsOf(n)
		if l.Run != 0 {
			runs = append(runs, l.Run)
		}
		out = append(out, p.closings(runs)...)
	case tags.Load:
		p.prefix(tLoaded, numKey(n), func(_, v []byte) bool {
			out = append(out, binary.BigEndian.Uint64(v))
			return true
		})
		p.CameBack(n, func(_ tags.Number, _ int, seq uint64) bool { out = append(out, seq); return true })
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// closings are the sequences of the events that closed runs, or restated them.
func (p *Past) closings(runs []uint64) (out []uint64) {
	for _, seq := range runs {
		r, _ := p.Run(seq)
		if r.By != 0 {
			out = append(out, r.By)
		}
		if r.Mended != 0 {
			out = append(out, r.Mended)
		}
	}
	return out
}

// LineOf finds a line by job, list and mark.
func (p *Past) LineOf(job, list, mark string) (*scan.Line, bool) {
	v := p.tx.Get(tLine, textKey(job, list, mark))
	if len(v) != 8 {
		return nil, false
	}
	return p.Line(binary.BigEndian.Uint64(v)), true
}

// LinesMarked are all lines with a mark, of whatever job, without those whose place another one took.
func (p *Past) LinesMarked(mark string) (out []*scan.Line) {
	for _, seq := range p.seqs(tMark, textKey(mark)) {
		if newest, _ := p.Newest(seq); newest == seq {
			out = append(out, p.Line(seq))
		}
	}
	return out
}

// LinesOf are the lines of a job, or of one list of it, in the order of their marks: the newest of each,
// also where that was withdrawn. What was taken into another list is among those of the one list that it
// came from, but once only among those of the job.
func (p *Past) LinesOf(job, list string) (out []*scan.Line) {
	prefix := textKey(job)
	if list != "" {
		prefix = textKey(job, list)
	}
	p.prefix(tLine, prefix, func(_, v []byte) bool {
		seq := binary.BigEndian.Uint64(v)
		if newest, _ := p.Newest(seq); list != "" || newest == seq {
			out = append(out, p.Line(seq))
		}
		return true
	})
	return out
}

// BundlesOf are the bundles of a line, with those that it got later: remainders, and what was made for
// another line; and those of the lines whose place it took that are wanted, or were made.
func (p *Past) BundlesOf(l *scan.Line) (out []scan.Bundle) {
	all := p.versions(l)
	for _, v := range all {
		add := func(n tags.Number) {
			b, ok := p.Bundle(n)
			twice := func(o scan.Bundle) bool { return o.Number == n }
			if ok && ofAny(b, all) && (b.Line == l.Seq || !b.Voided || b.Begun()) && !slices.ContainsFunc(out, twice) {
				out = append(out, b)
			}
		}
		for _, n := range v.Numbers() {
			add(n)
		}
		for _, n := range p.numbers(tRest, seqKey(v.Seq)) {
			add(n)
		}
	}
	return out
}

// Jobs calls f for each job, in the order of their numbers, until f returns false.
func (p *Past) Jobs(f func(event.JobSet) bool) {
	p.each(tJob, func(_, v []byte) bool { return f(decode[event.JobSet](v)) })
}

// Lists calls f for each bar list until f returns false.
func (p *Past) Lists(f func(List) bool) {
	p.each(tList, func(_, v []byte) bool { return f(decode[List](v)) })
}

// Lots calls f for each lot from a number on, until f returns false.
func (p *Past) Lots(from tags.Number, f func(heat.Lot) bool) {
	p.tx.Ascend(tLot, numKey(from), nil, func(_, v []byte) bool { return f(decode[heat.Lot](v)) })
}

// Bundles calls f for each bundle from a number on, until f returns false.
func (p *Past) Bundles(from tags.Number, f func(scan.Bundle) bool) {
	p.tx.Ascend(tBundle, numKey(from), nil, func(_, v []byte) bool { return f(decode[scan.Bundle](v)) })
}

// Loads calls f for each load, newest first, until f returns false.
func (p *Past) Loads(f func(load.Load) bool) {
	p.LoadsBefore(0, f)
}

// LoadsBefore calls f for each load with a lesser number than before, or with 0 for all, newest first, until f
// returns false.
func (p *Past) LoadsBefore(before tags.Number, f func(load.Load) bool) {
	var to []byte
	if before != 0 {
		to = numKey(before)
	}
	p.tx.Descend(tLoad, nil, to, func(_, v []byte) bool { return f(decode[load.Load](v)) })
}

// Holds calls f for each hold that is not lifted, until f returns false.
func (p *Past) Holds(f func(heat.Hold) bool) {
	p.each(tHold, func(_, v []byte) bool { return f(decode[heat.Hold](v)) })
}

// Places calls f for each place by name, until f returns false.
func (p *Past) Places(f func(name string, n tags.Number) bool) {
	p.each(tPlaceName, func(k, v []byte) bool {
		return f(strings.TrimSuffix(string(k), "\x00"), tags.Number(binary.BigEndian.Uint64(v)))
	})
}

// Open says whether the answer of the event at a sequence is on the list to resolve: it wants a person,
// and nobody has settled it.
func (p *Past) Open(seq uint64) bool { return p.tx.Get(tLook, seqKey(seq)) != nil }

// OpenBefore calls f for each event on the list to resolve, newest first, until f returns false. Before is
// the sequence that they are before; 0 is none.
func (p *Past) OpenBefore(before uint64, f func(seq uint64) bool) {
	var end []byte
	if before != 0 {
		end = seqKey(before)
	}
	p.tx.Descend(tLook, nil, end, func(k, _ []byte) bool { return f(binary.BigEndian.Uint64(k)) })
}

// OpenCount counts the list to resolve, up to most.
func (p *Past) OpenCount(most int) (n int) {
	p.OpenBefore(0, func(uint64) bool { n++; return n < most })
	return n
}

// SubjectOf is the number that the event at a sequence is about.
func (p *Past) SubjectOf(seq uint64) tags.Number {
	e := p.Event(seq)
	if r, ok := e.Body.(event.Resolved); ok {
		return p.SubjectOf(r.Seq)
	}
	return Subject([]event.Event{e})
}

func (p *Past) each(t store.Table, f func(k, v []byte) bool) { p.tx.Ascend(t, nil, nil, f) }

func decode[T any](v []byte) T {
	var out T
	if err := dec.Unmarshal(v, &out); err != nil {
		panic(Damaged{err})
	}
	return out
}
