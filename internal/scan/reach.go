package scan

import (
	"tagd/internal/bar"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/tags"
)

// Reach is how far a planned bundle has come on its way onto its truck.
type Reach int

// How far a bundle has come. Each has what the ones before it have.
const (
	NotCut   Reach = iota // or not begun, where the route does not cut
	IsCut                 // a step is done, and others are still to be done here
	IsMade                // all that is done here is done
	IsStaged              // it lies ready for its load
	IsLoaded
	reaches
)

// Sum is how many bundles there are of something, and what they weigh by their sizes and lengths.
type Sum struct {
	Bundles int
	Mass    bar.Mass
}

// Reached is a bundle of a load, and how far it has come.
type Reached struct {
	Bundle Bundle
	Line   *Line
	Stop   int  // of its load, from 0; less than 0 none
	Extra  bool // it lies on the load, and is not planned on it
	Reach  Reach
	Mass   bar.Mass   // nominal
	Place  string     // where it lies, by name; "" not cut yet, or nobody knows
	Next   string     // the step that is to be done here next; "" none
	Held   *heat.Hold // on it, or on what it is of
}

// Sums are what the bundles of a load come to by how far they have come.
type Sums [reaches]Sum

// All is what all of them come to.
func (s Sums) All() (all Sum) {
	for _, one := range s {
		all.Bundles += one.Bundles
		all.Mass += one.Mass
	}
	return all
}

// Missing is what is not on the truck yet.
func (s Sums) Missing() Sum {
	all := s.All()
	return Sum{all.Bundles - s[IsLoaded].Bundles, all.Mass - s[IsLoaded].Mass}
}

// add counts a bundle.
func (s *Sums) add(r Reached) {
	s[r.Reach].Bundles++
	s[r.Reach].Mass += r.Mass
}

// SumUp adds up the bundles of a load, all of them and stop by stop.
func SumUp(all []Reached, stops int) (whole Sums, each []Sums) {
	each = make([]Sums, stops)
	for _, r := range all {
		whole.add(r)
		if r.Stop >= 0 && r.Stop < stops {
			each[r.Stop].add(r)
		}
	}
	return whole, each
}

// ReachOf says of each bundle that is planned on a load how far it has come, in the order of the plan, and then
// of what lies on it and is not planned. What is voided will not come, and is left out.
func ReachOf(past Past, rules Rules, ld load.Load) (out []Reached) {
	j := &judge{past: past, rules: rules}
	for _, s := range past.Spots(ld.Number) {
		if b, ok := past.Bundle(s.Bundle); ok && !b.Voided {
			out = append(out, j.reached(b, ld, s.Stop))
		}
	}
	past.Loaded(ld.Number, func(n tags.Number) bool {
		if b, _ := past.Bundle(n); b.Planned != ld.Number {
			r := j.reached(b, ld, past.StopOf(ld, b))
			r.Extra = true
			out = append(out, r)
		}
		return true
	})
	return out
}

// reached says how far a bundle has come that goes to a stop of a load.
func (j *judge) reached(b Bundle, ld load.Load, stop int) Reached {
	l := j.past.Line(b.Line)
	r := Reached{Bundle: b, Line: l, Stop: stop, Mass: nominal(b, l), Place: j.lying(b)}
	here := len(b.Steps(l))
	if stop >= 0 && stop < len(ld.Stops) {
		here = j.stepsHere(ld.Stops[stop], b, l)
	}
	if b.Done < here {
		r.Next = b.Next(l)
	}
	switch {
	case b.Load == ld.Number:
		r.Reach = IsLoaded
	case b.Done < here && b.Done == 0:
		r.Reach = NotCut
	case b.Done < here:
		r.Reach = IsCut
	case b.Staged() == ld.Number:
		r.Reach = IsStaged
	default:
		r.Reach = IsMade
	}
	if h, held := j.held(b, Drawn(j.past, b)); held {
		r.Held = &h
	}
	return r
}

// LiesAt names where a bundle is, "" where nothing was done with it yet.
func LiesAt(past Past, b Bundle) string { return (&judge{past: past}).lying(b) }
