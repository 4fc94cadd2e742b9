package scan

import (
	"slices"
	"strings"

	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// Merging is bundles of one line that are tied into one of them.
type Merging struct {
	Into   tags.Number
	From   []tags.Number
	Reason string
	// Already says that they are tied: what a rule would have refused is a Check then.
	Already bool
}

// Merge ties bundles of one line, with the same steps done, into one of them. The others are no more. It
// may be of all heats that they may be of.
func Merge(past Past, rules Rules, m Merging) (Outcome, error) {
	reason, err := event.CleanText("reason", m.Reason, event.MostReason)
	if err != nil {
		return Outcome{}, err
	}
	into, l, err := bundleOf(past, "into", m.Into)
	switch {
	case err != nil:
		return Outcome{}, err
	case len(m.From) == 0:
		return Outcome{}, refusal("from", "is missing; name the bundles that are tied into %v", m.Into)
	case len(m.From) > mostParts:
		return Outcome{}, refusal("from", "names %d bundles; %d are the most at once", len(m.From), mostParts)
	}
	j := &judge{past: past, rules: rules}
	if err := j.mayMerge(into, l, "into"); err != nil {
		return Outcome{}, err
	}
	e := event.BundlesMerged{Into: m.Into, From: m.From, Pieces: into.Pieces, Reason: reason}
	draw, drawn := HeatsOf(past, into)
	var names []string
	for i, n := range m.From {
		b, other, err := bundleOf(past, "from", n)
		switch {
		case err != nil:
			return Outcome{}, err
		case n == m.Into || slices.Contains(m.From[:i], n):
			return Outcome{}, refusal("from", "%v stands there twice", n)
		case b.Line != into.Line:
			return Outcome{}, refusal("from", "%v is %s of %s/%s, and %v is %s of %s/%s; only bundles of one line are merged", n, other.Mark, other.Job, other.List, m.Into, l.Mark, l.Job, l.List)
		case b.Done != into.Done || !slices.Equal(b.Steps(l), into.Steps(l)) || b.Begun() != into.Begun():
			return Outcome{}, refusal("from", "%v waits for %s, and %v for %s; bring them equally far first", n, after(b, l, b.Done), m.Into, after(into, l, into.Done))
		}
		if err := j.mayMerge(b, l, "from"); err != nil {
			return Outcome{}, err
		}
		if d, ok := HeatsOf(past, b); ok && drawn {
			draw = heat.Join(draw, d)
		}
		e.Pieces += b.Pieces
		names = append(names, title(b, l))
	}
	out := Outcome{Show: m.Into, Events: []event.Body{e}, Answer: answer(event.Accepted, "merged into", strings.Join(names, ", "), title(into, l), e.Pieces)}
	job, _ := past.Job(l.Job)
	if drawn && job.Heats == event.HeatsSingle && len(draw.Heats) > 1 {
		if !m.Already {
			return Outcome{}, refusal("from", "job %s wants one heat in a bundle, and together they may be of %s; keep them apart, or say that they are tied already", job.Job, draw.Names())
		}
		look(&out.Answer, "rule broken by now", job.Job, draw.Names())
	}
	return out, nil
}

// mayMerge is tiedAnew, and refuses what is held: nobody could say which pieces the hold is on.
func (j *judge) mayMerge(b Bundle, l *Line, field string) error {
	if h, held := j.past.Hold(event.Target{Number: b.Number}); held {
		return refusal(field, "%v is held (%s); have the hold lifted first", b.Number, h.Reason)
	}
	return j.tiedAnew(b, l, field)
}

// undoMerge says what stands in the way of tying bundles apart again: one whose old tag was scanned onto a
// truck since went with what it was tied into.
func (j *judge) undoMerge(e event.BundlesMerged) error {
	for _, n := range e.From {
		if b, _ := j.past.Bundle(n); b.Load != 0 {
			return refusal("bundle", "%v, which was tied into it, was scanned onto load %v since; take it off first, and if the truck has gone, leave it tied", n, b.Load)
		}
	}
	return nil
}
