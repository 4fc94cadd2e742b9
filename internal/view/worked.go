package view

import (
	"cmp"
	"fmt"
	"slices"
	"sort"
	"sync"
	"time"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/journal"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// Worked follows the record for how fast the stations work. It is kept in memory: it reads the record
// from some moment on once, and then what is new. The zero value is ready.
//
// A bundle begins with its start and ends when its step is done, or part of it, by the times of the
// devices. What was undone is taken out again. A bundle that was begun before the moment is none, and one
// that lay begun over night counts the night: a median minds neither.
type Worked struct {
	mu      sync.Mutex
	since   time.Time
	next    uint64 // to be read
	begun   map[tags.Number]begun
	done    []done // by sequence
	onto    []onto // by sequence
	records *load.Records
	names   map[string]string // one text for each name
}

type begun struct {
	at      int64 // Unix ms
	station string
}

type done struct {
	seq    uint64
	kind   load.Kind
	from   int64 // Unix ms
	to     int64
	pieces int
	mass   bar.Mass
	whole  bool
}

// onto is a bundle that went onto a truck and was not taken off again.
type onto struct {
	bundle  tags.Number
	station string
	at      int64 // Unix ms
	mass    bar.Mass
}

// Work is a bundle done at a step, or part of it.
type Work struct {
	load.Kind
	At     int64 // when it ended, Unix ms
	Pieces int
	Mass   bar.Mass // nominal, of the pieces
	Whole  bool     // with it the step of the bundle was done
}

// Each calls f for all work that ended at some moment or later, in the order of the record, brought up to the
// state of p. It reads the record from since on, as Records does.
func (w *Worked) Each(p *Past, since, from time.Time, f func(Work)) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if p.Empty() {
		return
	}
	w.upTo(p, since)
	at := from.UnixMilli()
	for i := len(w.done) - 1; i >= 0; i-- {
		// By a device's clock a record may be somewhat out of order; none by a day.
		if w.done[i].to < at-dayMS {
			w.each(w.done[i+1:], at, f)
			return
		}
	}
	w.each(w.done, at, f)
}

// EachLoaded calls f for all bundles that went onto a truck at some moment or later and were not taken off again,
// with where and when that was and what they weigh, as Each does for work.
func (w *Worked) EachLoaded(p *Past, since, from time.Time, f func(station string, at int64, mass bar.Mass)) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if p.Empty() {
		return
	}
	w.upTo(p, since)
	first := from.UnixMilli()
	for _, o := range slices.Backward(w.onto) {
		if o.at < first-dayMS {
			return
		}
		if o.at >= first {
			f(o.station, o.at, o.mass)
		}
	}
}

const dayMS = 24 * 60 * 60 * 1000

func (w *Worked) each(all []done, from int64, f func(Work)) {
	for _, d := range all {
		if d.to >= from {
			f(Work{d.kind, d.to, d.pieces, d.mass, d.whole})
		}
	}
}

// Records lets use look at the records since a moment, brought up to the state of p. Moments should
// only grow, and seldom: with each new one the records are made anew.
func (w *Worked) Records(p *Past, since time.Time, use func(*load.Records)) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if p.Empty() {
		use(&load.Records{})
		return
	}
	w.upTo(p, since)
	if w.records == nil {
		w.records = &load.Records{}
		for _, d := range w.done {
			d.add(w.records)
		}
	}
	use(w.records)
}

// Ahead reads some of what Records would have to, and says whether there is more: a program that has just
// begun reads ahead, so that nobody waits for it.
func (w *Worked) Ahead(p *Past, since time.Time) (more bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if p.Empty() {
		return false
	}
	w.from(p, since)
	return w.page(p)
}

// upTo reads the record from a moment on, as far as p has it.
func (w *Worked) upTo(p *Past, since time.Time) {
	w.from(p, since)
	for w.page(p) {
	}
}

// from lets the records begin at a moment.
func (w *Worked) from(p *Past, since time.Time) {
	if w.begun == nil || since.Before(w.since) {
		w.begun, w.names, w.done, w.records = map[tags.Number]begun{}, map[string]string{}, nil, nil
		w.onto = nil
		w.next = p.SeqAt(since.UnixMilli())
		w.since = since
	}
	if since.After(w.since) {
		old := sort.Search(len(w.done), func(i int) bool { return w.done[i].to >= since.UnixMilli() })
		w.done, w.records, w.since = slices.Clone(w.done[old:]), nil, since
		gone := sort.Search(len(w.onto), func(i int) bool { return w.onto[i].at >= since.UnixMilli() })
		w.onto = slices.Clone(w.onto[gone:])
	}
}

func (d done) add(r *load.Records) {
	r.Add(d.kind, time.UnixMilli(d.from), time.UnixMilli(d.to), d.pieces)
}

// worked are the kinds that say when work began or ended, and what went onto trucks.
var worked = func() map[event.Kind]bool {
	m := map[event.Kind]bool{}
	for _, b := range []event.Body{
		event.RunOpened{}, event.RunJoined{}, event.StepStarted{}, event.CutDone{}, event.CoilCut{}, event.StepDone{}, event.PartDone{}, event.Undone{},
		event.Loaded{}, event.Unloaded{},
	} {
		m[b.Kind()] = true
	}
	return m
}()

// page reads the next of what is new, and says whether there may be more.
func (w *Worked) page(p *Past) bool {
	read := func(seq uint64, raw []byte) bool {
		if worked[event.KindOf(raw)] {
			e, err := event.Decode(raw)
			if err != nil {
				panic(Damaged{fmt.Errorf("view: record %d: %w", seq, err)})
			}
			w.one(p, seq, e)
		}
		w.next = seq + 1
		return true
	}
	if w.next == 0 {
		read(0, journal.Get(p.tx, 0))
	}
	at := w.next
	if err := journal.Scan(p.tx, at-1, batch, read); err != nil {
		panic(Damaged{err})
	}
	return w.next >= at+batch
}

// one takes in an event.
func (w *Worked) one(p *Past, seq uint64, e event.Event) {
	at := when(e)
	switch b := e.Body.(type) {
	case event.RunOpened:
		w.begun[b.Bundle] = begun{at, w.name(b.Station)}
	case event.RunJoined:
		r, _ := p.Run(b.Run)
		w.begun[b.Bundle] = begun{at, w.name(r.Station)}
	case event.StepStarted:
		w.begun[b.Bundle] = begun{at, w.name(b.Station)}
	case event.CutDone:
		w.ended(p, seq, b.Bundle, "", "", b.Pieces, at, true)
	case event.CoilCut:
		w.ended(p, seq, b.Bundle, "", "", b.Pieces, at, true)
	case event.StepDone:
		w.ended(p, seq, b.Bundle, b.Station, b.Step, b.Pieces, at, true)
	case event.PartDone:
		w.ended(p, seq, b.Bundle, b.Station, b.Step, b.Pieces, at, false)
	case event.Undone:
		w.undone(p, b)
	case event.Loaded:
		w.onto = append(w.onto, onto{b.Bundle, w.name(e.Station), at, b.Mass})
	case event.Unloaded:
		for i := range slices.Backward(w.onto) {
			if w.onto[i].bundle == b.Bundle {
				w.onto = slices.Delete(w.onto, i, i+1)
				break
			}
		}
	}
}

// ended takes in work that was done at a station, "" where it was begun; the step "" is the one
// that takes bars or coil.
func (w *Worked) ended(p *Past, seq uint64, n tags.Number, station, step string, pieces int, at int64, whole bool) {
	from, ok := w.begun[n]
	delete(w.begun, n)
	b, known := p.Bundle(n)
	if !ok || !known {
		return
	}
	if station == "" {
		station = from.station
	}
	l := p.Line(b.Line)
	if step == "" {
		step = string(b.DrawStep(l))
	}
	d := done{seq, load.Kind{Station: w.name(station), Step: w.name(step), Class: scan.ClassOf(l.Steel.Size)}, from.at, at, pieces, 0, whole}
	d.mass, _ = bar.Weigh(l.Steel.Size, l.Length*bar.Length(pieces)) // sizes of lines were checked
	w.done = append(w.done, d)
	if w.records != nil {
		d.add(w.records)
	}
}

// undone takes out what an undoing took back: a start is none, and what was done goes on from its start.
func (w *Worked) undone(p *Past, u event.Undone) {
	i, found := slices.BinarySearchFunc(w.done, u.Seq, func(d done, seq uint64) int { return cmp.Compare(d.seq, seq) })
	if !found {
		switch p.Event(u.Seq).Body.(type) {
		case event.RunOpened, event.RunJoined, event.StepStarted:
			delete(w.begun, u.Bundle)
		}
		return
	}
	w.begun[u.Bundle] = begun{w.done[i].from, w.done[i].kind.Station}
	w.done = slices.Delete(w.done, i, i+1)
	w.records = nil
}

func (w *Worked) name(s string) string {
	if one, ok := w.names[s]; ok {
		return one
	}
	w.names[s] = s
	return s
}
