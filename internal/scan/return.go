package scan

import (
	"tagd/internal/event"
	"tagd/internal/tags"
)

// CameBack is a bundle, or some pieces of it, that came back from a load that left.
type CameBack struct {
	Bundle tags.Number
	Pieces int         // 0: all that it has
	Place  tags.Number // where it was put down
	Reason string
	Scrap  bool // it is of no more use
}

// TakeBack records what came back, at a desk. A refusal names what is wrong in the words of the floor.
func TakeBack(past Past, rules Rules, r CameBack) (Outcome, error) {
	reason, err := event.CleanText("reason", r.Reason, event.MostReason)
	if err != nil {
		return Outcome{}, err
	}
	b, l, err := bundleOf(past, "bundle", r.Bundle)
	switch {
	case err != nil:
		return Outcome{}, err
	case reason == "":
		return Outcome{}, refusal("reason", "is missing; say why it came back")
	case r.Pieces < 0:
		return Outcome{}, refusal("pieces", "are less than none")
	}
	r.Reason = reason
	j := &judge{past: past, rules: rules}
	if b.Voided {
		return spoken(j.noMore(b, l), "bundle")
	}
	out := j.returned(b, l, r)
	field := "bundle"
	if out.Answer.Notes[0].Code == "not so many back" {
		field = "pieces"
	}
	return spoken(out, field)
}

// unfinished says whether a bundle is in the middle of a step, or not cut: how many of its pieces there are
// is not known then.
func unfinished(b Bundle, l *Line) bool { return b.Started || b.Made > 0 || b.Draws(l) }

// returned judges what came back from a load that left. It is here, so nothing about it is refused but what
// the record cannot mean. Pieces of a bundle of which others stayed there are a bundle of their own now.
func (j *judge) returned(b Bundle, l *Line, r CameBack) Outcome {
	pieces := r.Pieces
	if pieces == 0 {
		pieces = b.Pieces
	}
	switch {
	case b.Load == 0:
		return j.refuse(b.Number, "not on a load", title(b, l))
	case !b.Shipped:
		return j.refuse(b.Number, "not left", title(b, l), b.Load)
	case pieces > b.Pieces:
		return j.refuse(b.Number, "not so many back", title(b, l), b.Pieces, pieces)
	case unfinished(b, l) && (pieces < b.Pieces || r.Scrap):
		return j.refuse(b.Number, "only whole", title(b, l), b.Next(l))
	}
	e := event.BundleReturned{Load: b.Load, Bundle: b.Number, Pieces: pieces, Place: r.Place, Reason: r.Reason, Scrap: r.Scrap}
	out := Outcome{Show: b.Number}
	part := pieces < b.Pieces
	switch {
	case r.Scrap:
		out.Answer = answer(event.Accepted, "back as scrap", title(b, l), b.Load, pieces)
	case part:
		e.Part = j.past.Fresh(tags.Bundle)
		out.Answer = answer(event.Accepted, "some returned", title(b, l), b.Load, pieces, b.Pieces-pieces)
		out.Answer.Notes = append(out.Answer.Notes, note("part", pieces, j.restName(b), e.Part))
	default:
		out.Answer = answer(event.Accepted, "returned", title(b, l), b.Load, pieces, after(b, l, b.Done))
	}
	out.Events = []event.Body{e}
	if e.Part != 0 {
		j.holdParts(&out, b.Number, []tags.Number{e.Part})
	}
	if r.Reason == "" {
		look(&out.Answer, "no reason said", title(b, l), b.Load)
	}
	return out
}
