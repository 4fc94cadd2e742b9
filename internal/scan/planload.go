package scan

import (
	"slices"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/load"
	"tagd/internal/tags"
)

// mostNamed is how many bundles a sentence names, mostOut how many lines of a load it says that stay off,
// and mostSaid how many sentences an answer to several plans has: those that want a person come first.
const (
	mostNamed = 5
	mostOut   = 10
	mostSaid  = 60
)

// SayPlans is the answer to plans of loads: how much is planned and what moved, which bundles of the
// lines and lists stay off and why, and what a person should look at.
func SayPlans(past Past, rules Rules, plans []load.Planned) *event.Answer {
	j := &judge{past: past, rules: rules}
	a := &event.Answer{}
	for _, p := range plans {
		j.sayPlan(a, p)
	}
	if len(a.Notes) > mostSaid { // an answer is stored with an event, and has no room for hundreds
		slices.SortStableFunc(a.Notes, func(x, y event.Note) int { return int(Sentences[y.Code].Verdict) - int(Sentences[x.Code].Verdict) })
		a.Notes = a.Notes[:mostSaid]
	}
	return a
}

func (j *judge) sayPlan(a *event.Answer, p load.Planned) {
	e := p.Set
	bundles := 0
	var mass bar.Mass
	for _, s := range e.Stops {
		for _, n := range s.Bundles {
			b, _ := j.past.Bundle(n)
			mass += nominal(b, j.past.Line(b.Line))
			bundles++
		}
	}
	a.Notes = append(a.Notes, note("load planned", e.Load, bundles, j.mass(mass)))
	var added, off, shifted, from int
	for _, m := range load.Moves(e) {
		switch {
		case m.To == 0:
			off++
		case m.From == 0:
			added++
		case m.From == m.To:
			shifted++
		default:
			from++
		}
	}
	if added+off+shifted+from > 0 {
		a.Notes = append(a.Notes, note("plan moved", added, off, shifted, from))
	}
	for _, o := range p.Out[:min(len(p.Out), mostOut)] {
		switch {
		case o.Planned:
			a.Notes = append(a.Notes, note("stays planned", o.Line, len(o.Bundles), o.Load))
		case o.Load != 0:
			a.Notes = append(a.Notes, note("stays aboard", o.Line, len(o.Bundles), o.Load))
		default:
			a.Notes = append(a.Notes, note("stays gone", o.Line, len(o.Bundles)))
		}
	}
	if e.Limit > 0 && mass > e.Limit {
		look(a, "plan over the limit", e.Load, j.mass(mass), j.mass(e.Limit))
	}
	if len(p.Aboard) > 0 {
		look(a, "aboard unplanned", len(p.Aboard), e.Load, j.fewOf(p.Aboard))
	}
}

// fewOf names the first of some bundles, and how many more.
func (j *judge) fewOf(ns []tags.Number) string {
	return few(ns, func(n tags.Number) string {
		b, _ := j.past.Bundle(n)
		return title(b, j.past.Line(b.Line))
	})
}

// few names the first of some things, and how many more.
func few[T any](all []T, name func(T) string) string {
	var out []string
	for _, one := range all[:min(len(all), mostNamed)] {
		out = append(out, name(one))
	}
	if more := len(all) - len(out); more > 0 {
		out = append(out, "+"+itoa(more))
	}
	return strings.Join(out, ", ")
}
