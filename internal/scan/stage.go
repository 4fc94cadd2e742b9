package scan

import (
	"cmp"
	"slices"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/load"
	"tagd/internal/tags"
)

// stage judges a bundle's tag where loads are staged: what is planned on a load that is here lies ready
// for it now. What the truck would refuse is refused here already, before it is in the way of the lift.
func (j *judge) stage(b Bundle, l *Line) Outcome {
	if out, gone := j.gone(b, l); gone {
		return out
	}
	ld, ok := j.past.Load(b.Planned)
	if !ok || ld.Shipped != 0 {
		out := j.put(b, l)
		if len(out.Events) > 0 {
			look(&out.Answer, "for no truck", title(b, l), j.lane(j.dev.Put))
		}
		return out
	}
	stops := j.stops(b, l, ld, nominal(b, l))
	if len(stops) > 0 && !j.scan.Deed {
		if j.at.Can(Yard) {
			return j.put(b, l)
		}
		return stops[0]
	}
	if b.Staged() == ld.Number && (j.dev.Put == 0 || j.dev.Put == b.Place) {
		return Outcome{Answer: answer(event.Accepted, "staged already", title(b, l), ld.Number, j.lane(b.Place)), Show: b.Number}
	}
	out := Outcome{
		Answer: answer(event.Accepted, "staged", title(b, l), ld.Number, max(0, j.past.StopOf(ld, b))+1, j.lane(j.dev.Put)),
		Events: []event.Body{event.Staged{Load: ld.Number, Bundle: b.Number, Place: j.dev.Put}},
		Show:   b.Number,
	}
	for _, stop := range stops {
		heed(&out.Answer, stop)
	}
	return out
}

// lane names a place where something lies ready; where none is said, the staging of the plant.
func (j *judge) lane(n tags.Number) string {
	if name, ok := j.past.Place(n); ok {
		return name
	}
	return "staging"
}

// nominal is what a bundle weighs by its size and length.
func nominal(b Bundle, l *Line) bar.Mass {
	m, _ := bar.Weigh(l.Steel.Size, l.Length*bar.Length(b.Pieces)) // sizes of lines were checked
	return m
}

// stopOf is the stop that a bundle on a load goes to; the zero value where none is for it.
func (j *judge) stopOf(b Bundle) load.Stop {
	ld, _ := j.past.Load(b.Load)
	return stopOf(j.past, ld, b)
}

func stopOf(past Past, ld load.Load, b Bundle) load.Stop {
	if at := past.StopOf(ld, b); at >= 0 && at < len(ld.Stops) {
		return ld.Stops[at]
	}
	return load.Stop{}
}

// order is a Check where a bundle goes on before what is planned for a later stop: what comes off last goes
// on first.
func (j *judge) order(a *event.Answer, b Bundle, l *Line, ld load.Load) {
	if len(ld.Stops) < 2 || ld.Planned == 0 {
		return
	}
	at := j.past.StopOf(ld, b)
	if at < 0 {
		return
	}
	var missing []Absent
	for _, s := range j.past.Spots(ld.Number) {
		if s.Stop <= at {
			continue
		}
		if o, ok := j.absent(s, ld.Number); ok {
			missing = append(missing, o)
		}
	}
	if len(missing) == 0 {
		return
	}
	slices.SortStableFunc(missing, func(x, y Absent) int { return y.Stop - x.Stop })
	names := few(missing, func(o Absent) string { return title(o.Bundle, o.Line) + " (" + o.Where + ")" })
	look(a, "later stop first", title(b, l), at+1, len(missing), names)
}

// LoadList is the planned list of a load beside what lies on it.
type LoadList struct {
	load.Load
	Stops []ListStop
}

// ListStop is a stop of a load, with how much of its list is on.
type ListStop struct {
	load.Stop
	Planned int
	On      int // bundles for it on the load, planned or not
	Missing []Absent
}

// Absent is a planned bundle that is not on its load.
type Absent struct {
	Bundle Bundle
	Line   *Line
	Stop   int    // from 0
	Where  string // it lies, or what it waits for
}

// ListOf is the planned list of a load, stop by stop.
func ListOf(past Past, rules Rules, ld load.Load) LoadList {
	j := &judge{past: past, rules: rules}
	out := LoadList{Load: ld, Stops: make([]ListStop, len(ld.Stops))}
	for i, s := range ld.Stops {
		out.Stops[i].Stop = s
	}
	for _, s := range past.Spots(ld.Number) {
		if s.Stop >= len(out.Stops) {
			continue
		}
		to := &out.Stops[s.Stop]
		to.Planned++
		if o, missing := j.absent(s, ld.Number); missing {
			to.Missing = append(to.Missing, o)
		}
	}
	past.Loaded(ld.Number, func(n tags.Number) bool {
		b, _ := past.Bundle(n)
		if at := past.StopOf(ld, b); at >= 0 && at < len(out.Stops) {
			out.Stops[at].On++
		}
		return true
	})
	return out
}

// absent finds a planned bundle that is not on its load, and may still be.
func (j *judge) absent(s load.Spot, ld tags.Number) (Absent, bool) {
	b, ok := j.past.Bundle(s.Bundle)
	if !ok || b.Voided || b.Load == ld {
		return Absent{}, false
	}
	l := j.past.Line(b.Line)
	return Absent{Bundle: b, Line: l, Stop: s.Stop, Where: j.lies(b, l)}, true
}

// lies says in a few words where a bundle is, or what it waits for.
func (j *judge) lies(b Bundle, l *Line) string { return cmp.Or(j.lying(b), b.Next(l)) }

// lying names where a bundle is, "" where nothing was done with it yet.
func (j *judge) lying(b Bundle) string {
	name, placed := j.past.Place(b.Place)
	switch {
	case b.Load != 0:
		return b.Load.String()
	case placed:
		return name
	case b.Staged() != 0:
		return "staging"
	case b.Pocket != "":
		return b.Station + " / " + b.Pocket
	}
	return b.Station
}

// Sized is a piece that is the longest or the widest of a load.
type Sized struct {
	Bundle tags.Number // 0: there is none
	Title  string
	Length bar.Length
}

// Extent is the longest piece of some bundles, and the widest bent shape, by the least room that each takes
// lying flat (bar.Shape.Box).
func Extent(past Past, bundles []tags.Number) (longest, widest Sized) {
	for _, n := range bundles {
		b, ok := past.Bundle(n)
		if !ok {
			continue
		}
		l := past.Line(b.Line)
		long, wide := l.Shape.Box()
		if long == 0 {
			long = l.Length
		}
		if long > longest.Length {
			longest = Sized{n, title(b, l), long}
		}
		if wide > widest.Length {
			widest = Sized{n, title(b, l), wide}
		}
	}
	return longest, widest
}
