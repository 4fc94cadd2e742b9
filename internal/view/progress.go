package view

import (
	"fmt"
	"reflect"
	"sync"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/journal"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// Amount is some bundles with their pieces and nominal weight.
type Amount struct {
	Bundles, Pieces int
	Mass            bar.Mass
}

func (a *Amount) add(o Amount) {
	a.Bundles += o.Bundles
	a.Pieces += o.Pieces
	a.Mass += o.Mass
}

// Progress is how far a list, or a job, is. A piece stands in the furthest that it reached, so that the four
// together are all that is to go out; of a bundle that is part cut, the pieces that are cut are made.
type Progress struct {
	Delivered Amount // the signed sheet came back
	Away      Amount // on a truck, or left with one
	Made      Amount // a step of their route is done, or they take none
	Planned   Amount // nothing is done
	Owed      int    // bundles that replace lost pieces, and are not begun
	Checks    int    // open answers that a person should look at
}

// All is all of it.
func (g Progress) All() (a Amount) {
	for _, one := range []Amount{g.Delivered, g.Away, g.Made, g.Planned} {
		a.add(one)
	}
	return a
}

// Add adds that of another list.
func (g *Progress) Add(o Progress) {
	g.Delivered.add(o.Delivered)
	g.Away.add(o.Away)
	g.Made.add(o.Made)
	g.Planned.add(o.Planned)
	g.Owed += o.Owed
	g.Checks += o.Checks
}

// ListProgress is a list of a job with how far it is.
type ListProgress struct {
	List string
	Progress
}

// Progress reads how far the lists of a job are, by their numbers.
func (p *Past) Progress(job string) (out []ListProgress) {
	at, checks := map[string]int{}, map[uint64]bool{}
	for _, l := range p.LinesOf(job, "") {
		i, ok := at[l.List]
		if !ok {
			i, at[l.List] = len(out), len(out)
			out = append(out, ListProgress{List: l.List})
		}
		for _, b := range p.BundlesOf(l) {
			if !b.Voided {
				p.count(b, &out[i].Progress)
				for _, seq := range b.Looks { // one answer may be about many
					if !checks[seq] && p.Open(seq) {
						checks[seq] = true
						out[i].Checks++
					}
				}
			}
		}
	}
	return out
}

// Asked is the nominal weight of what a list asks for now.
func (p *Past) Asked(job, list string) (m bar.Mass) {
	for _, l := range p.LinesOf(job, list) {
		if newest, withdrawn := p.Newest(l.Seq); newest == l.Seq && !withdrawn {
			one, _ := bar.Weigh(l.Steel.Size, l.Length*bar.Length(l.Pieces)) // the size was weighed when the line was taken
			m += one
		}
	}
	return m
}

// count adds a bundle to the progress of its list.
func (p *Past) count(b scan.Bundle, g *Progress) {
	l := p.Line(b.Line) // what it is made to, which its list may not want any more
	weigh := func(pieces int) Amount {
		m, _ := bar.Weigh(l.Steel.Size, l.Length*bar.Length(pieces)) // the size was weighed when the line was taken
		return Amount{Pieces: pieces, Mass: m}
	}
	all := weigh(b.Pieces)
	all.Bundles = 1
	switch {
	case b.Shipped && p.delivered(b):
		g.Delivered.add(all)
	case b.Load != 0:
		g.Away.add(all)
	case b.Done > 0 || len(b.Steps(l)) == 0:
		g.Made.add(all)
	default:
		made, rest := weigh(min(b.Made, b.Pieces)), all
		rest.Pieces -= made.Pieces
		rest.Mass -= made.Mass
		g.Made.add(made)
		g.Planned.add(rest)
	}
	if b.Replaces() && !b.Begun() {
		g.Owed++
	}
}

// delivered says whether the signed sheet of a bundle's stop came back; what is away at a processor is not
// delivered.
func (p *Past) delivered(b scan.Bundle) bool {
	l, _ := p.Load(b.Load)
	at := p.StopOf(l, b)
	return at >= 0 && l.Stops[at].Delivered != 0 && l.Stops[at].Processor == ""
}

// Progresses follows the record for how far the jobs are. It is kept in memory: what was worked out for a job
// stands until something of it moves. The zero value is ready.
type Progresses struct {
	mu   sync.Mutex
	next uint64 // to be read
	jobs map[string][]ListProgress
}

// Of is how far the lists of a job are by the state of p. What it gives is not to be changed.
func (w *Progresses) Of(p *Past, job string) []ListProgress {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.jobs == nil {
		w.jobs, w.next = map[string][]ListProgress{}, p.Head()+1
	}
	w.follow(p)
	if p.Head()+1 != w.next { // an older state than the one that is kept
		return p.Progress(job)
	}
	got, ok := w.jobs[job]
	if !ok {
		got = p.Progress(job)
		w.jobs[job] = got
	}
	return got
}

// still are the kinds that move no bundle, though they may name one or come by the thousand.
var still = func() map[event.Kind]bool {
	m := map[event.Kind]bool{}
	for _, b := range []event.Body{
		event.CardShown{}, event.TagPrinted{}, event.ScanRefused{}, event.ScanNoted{}, event.LotReceived{}, event.LotHeatSet{}, event.CertFiled{},
		event.CertReviewed{}, event.SettingsChanged{}, event.PlaceMade{}, event.PersonMade{}, event.HoldPut{}, event.HoldLifted{},
	} {
		m[b.Kind()] = true
	}
	return m
}()

// follow forgets the jobs of what moved since.
func (w *Progresses) follow(p *Past) {
	read := func(seq uint64, raw []byte) bool {
		if !still[event.KindOf(raw)] {
			e, err := event.Decode(raw)
			if err != nil {
				panic(Damaged{fmt.Errorf("view: record %d: %w", seq, err)})
			}
			w.moved(p, e, true)
		}
		w.next = seq + 1
		return true
	}
	for more := w.next > 0; more; {
		at := w.next
		if err := journal.Scan(p.tx, at-1, batch, read); err != nil {
			panic(Damaged{err})
		}
		more = w.next > at
	}
}

// moved forgets the jobs of all that an event names: of bundles, lines, the members of runs, and of what lies
// on a load that left or was delivered. With back, what it takes back or settles is looked through too.
func (w *Progresses) moved(p *Past, e event.Event, back bool) {
	bundle := func(n tags.Number) {
		if b, ok := p.Bundle(n); ok {
			delete(w.jobs, p.Line(b.Line).Job)
		}
	}
	aboard := func(n tags.Number) {
		p.Loaded(n, func(m tags.Number) bool { bundle(m); return true })
		p.CameBack(n, func(m tags.Number, _ int, _ uint64) bool { bundle(m); return true })
	}
	switch b := e.Body.(type) {
	case event.Loaded: // by the thousand: the load as a whole does not move
		bundle(b.Bundle)
		return
	case event.LoadSet, event.LoadPlanned: // what is planned has not moved
		if e.Answer == nil || e.Answer.Verdict != event.Check {
			return
		}
	case event.BundleReassigned:
		// The job that gave it away is found over the lines that it was of.
		x, _ := p.Bundle(b.Bundle)
		for _, seq := range append(p.seqs(tHistory, numKey(b.Bundle)), p.origin(x)) {
			switch l := p.Event(seq).Body.(type) {
			case event.LineTaken:
				delete(w.jobs, l.Job)
			case event.LineChanged:
				delete(w.jobs, l.Taken.Job)
			}
		}
	}
	var walk func(reflect.Value)
	walk = func(v reflect.Value) {
		switch {
		case v.Type() == typeNumber:
			switch n := v.Interface().(tags.Number); n.Kind() {
			case tags.Bundle:
				bundle(n)
			case tags.Load:
				aboard(n)
			}
		case v.Kind() == reflect.Pointer:
			if !v.IsNil() {
				walk(v.Elem())
			}
		case v.Kind() == reflect.Slice:
			for i := range v.Len() {
				walk(v.Index(i))
			}
		case v.Kind() == reflect.Struct:
			for i := range v.NumField() {
				f, name := v.Field(i), v.Type().Field(i).Name
				switch {
				case name == "Job" && f.Kind() == reflect.String:
					delete(w.jobs, f.String())
				case f.Type() != typeSeq:
					walk(f)
				case f.Uint() == 0:
				case name == "Run":
					r, _ := p.Run(f.Uint())
					for _, m := range r.Members {
						bundle(m.Bundle)
					}
				case name == "Line":
					delete(w.jobs, p.Line(f.Uint()).Job)
				case back:
					w.moved(p, p.Event(f.Uint()), false)
				}
			}
		}
	}
	walk(reflect.ValueOf(e.Body))
}
