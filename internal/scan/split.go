package scan

import (
	"tagd/internal/event"
	"tagd/internal/tags"
)

// mostParts is how many bundles one is split into at once, or are merged.
const mostParts = 50

// Split ties some pieces of a bundle as bundles of their own, one for each count. It keeps the others,
// under its number. A hold on its number goes with the parts.
func Split(past Past, rules Rules, n tags.Number, pieces []int, reason string) (Outcome, error) {
	reason, err := event.CleanText("reason", reason, event.MostReason)
	if err != nil {
		return Outcome{}, err
	}
	b, l, err := bundleOf(past, "bundle", n)
	switch {
	case err != nil:
		return Outcome{}, err
	case len(pieces) == 0:
		return Outcome{}, refusal("pieces", "are missing; say how many go into each new bundle")
	case len(pieces) > mostParts:
		return Outcome{}, refusal("pieces", "are for %d bundles; %d are the most at once", len(pieces), mostParts)
	}
	j := &judge{past: past, rules: rules}
	if err := j.tiedAnew(b, l, "bundle"); err != nil {
		return Outcome{}, err
	}
	left := b.Pieces
	for _, p := range pieces {
		if p < 1 {
			return Outcome{}, refusal("pieces", "of a new bundle are %d; 1 is the least", p)
		}
		if left -= p; left < 1 {
			return Outcome{}, refusal("pieces", "are all of the %d that %v has, or more; at least one stays under its number", b.Pieces, n)
		}
	}
	e := event.BundleSplit{Bundle: n, Reason: reason}
	out := Outcome{Show: n, Answer: answer(event.Accepted, "split", title(b, l), left)}
	part := b
	part.Rest = past.Rests(b)
	var fresh []tags.Number
	for _, p := range pieces {
		part.Rest++
		one := event.Part{Number: past.Fresh(tags.Bundle), Pieces: p}
		e.Into = append(e.Into, one)
		fresh = append(fresh, one.Number)
		out.Answer.Notes = append(out.Answer.Notes, note("part", one.Pieces, part.Name(), one.Number))
	}
	out.Events = []event.Body{e}
	j.holdParts(&out, n, fresh)
	return out, nil
}

// holdParts puts the hold on a bundle's number, if there is one, on what is parted from it too.
func (j *judge) holdParts(out *Outcome, n tags.Number, parts []tags.Number) (held bool) {
	h, held := j.past.Hold(event.Target{Number: n})
	if !held {
		return false
	}
	for _, p := range parts {
		out.Events = append(out.Events, event.HoldPut{Target: event.Target{Number: p}, Reason: h.Reason})
	}
	out.Answer.Notes = append(out.Answer.Notes, note("parts held", numbers(parts), h.Reason))
	return true
}

// restName is the name of the next bundle that is parted from one.
func (j *judge) restName(b Bundle) string {
	b.Rest = j.past.Rests(b) + 1
	return b.Name()
}

// tiedAnew says why a bundle cannot be split or merged now: it is no more, or not in the shop's hands, or
// in the middle of a step. All of these can be done first.
func (j *judge) tiedAnew(b Bundle, l *Line, field string) error {
	switch {
	case b.Voided:
		_, err := spoken(j.noMore(b, l), field)
		return err
	case b.Shipped:
		return refusal(field, "%v left on load %v; what has left is not tied anew here", b.Number, b.Load)
	case b.Load != 0:
		return refusal(field, "%v is on load %v; unload it first", b.Number, b.Load)
	case b.Started:
		return refusal(field, "%v is at work (%s, at %s); scan it as done, or undo the start, first", b.Number, b.Next(l), b.Station)
	case b.Made > 0:
		return refusal(field, "%v is part done (%d of %d, %s); finish that first", b.Number, b.Made, b.Pieces, b.Next(l))
	}
	return nil
}

// undoSplit says what stands in the way of tying the parts of a bundle together again.
func (j *judge) undoSplit(e event.BundleSplit) error {
	for _, p := range e.Into {
		part, _ := j.past.Bundle(p.Number)
		switch {
		case part.Into() != 0:
			return refusal("bundle", "its part %v was merged into %v; undo that first", p.Number, part.Into())
		case part.Voided:
			return refusal("bundle", "its part %v is voided", p.Number)
		case part.touched():
			return refusal("bundle", "its part %v was worked on since; undo that first", p.Number)
		}
	}
	return nil
}
