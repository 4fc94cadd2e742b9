package scan

import (
	"slices"

	"tagd/internal/event"
	"tagd/internal/tags"
)

// Losses are all reasons for which pieces are lost.
var Losses = []event.Loss{event.Miscut, event.Misbent, event.Sample, event.Damaged, event.Site, event.Revised}

// Loss is what a person says of pieces that a bundle has no more.
type Loss struct {
	Pieces int
	Why    event.Loss
	Note   string
	// Settled says that the line owes nothing for them. For what a revision took away it never does.
	Settled bool
}

// Lose records pieces of a bundle as lost, at a desk. A refusal names what is wrong in the words of the
// floor.
func Lose(past Past, rules Rules, n tags.Number, loss Loss) (Outcome, error) {
	note, err := event.CleanText("note", loss.Note, event.MostReason)
	if err != nil {
		return Outcome{}, err
	}
	loss.Note = note
	b, l, err := bundleOf(past, "bundle", n)
	if err != nil {
		return Outcome{}, err
	}
	j := &judge{past: past, rules: rules}
	if b.Voided {
		return spoken(j.noMore(b, l), "bundle")
	}
	out := j.lose(b, l, loss)
	field := "bundle"
	switch out.Answer.Notes[0].Code {
	case "no such loss":
		field = "why"
	case "how many lost", "not so many":
		field = "pieces"
	}
	return spoken(out, field)
}

// lose judges pieces that are said to be lost. Pieces are lost or not, whatever the record thinks of it;
// what is refused can be recorded in another order, or is another thing.
func (j *judge) lose(b Bundle, l *Line, loss Loss) Outcome {
	here := b.Load != 0 && !b.Shipped
	switch {
	case !slices.Contains(Losses, loss.Why):
		return j.refuse(b.Number, "no such loss", cut(string(loss.Why), 40))
	case loss.Pieces < 1:
		return j.refuse(b.Number, "how many lost", title(b, l))
	case !b.Begun() && !b.Shipped:
		return j.refuse(b.Number, "nothing made", title(b, l))
	case here:
		return j.refuse(b.Number, "on the truck", title(b, l), b.Load)
	case loss.Pieces > b.Pieces:
		return j.refuse(b.Number, "not so many", title(b, l), b.Pieces, loss.Pieces)
	case b.Started && loss.Pieces >= b.Pieces-b.Made:
		return j.refuse(b.Number, "would be none", title(b, l), b.Next(l))
	case !b.Started && b.Made > 0 && loss.Pieces > wait(b, l, loss.Why):
		return j.refuse(b.Number, "part done", title(b, l), b.Made, b.Pieces, b.Next(l))
	}
	left := b.Pieces - loss.Pieces
	e := event.PiecesLost{Bundle: b.Number, Pieces: loss.Pieces, Why: loss.Why, Note: loss.Note}
	out := Outcome{Show: b.Number}
	if left > 0 {
		out.Answer = answer(event.Accepted, "pieces lost", title(b, l), loss.Pieces, string(loss.Why), left)
	} else {
		out.Answer = answer(event.Accepted, "all lost", title(b, l), loss.Pieces, string(loss.Why))
	}
	if !loss.Settled && loss.Why != event.Revised && j.owes(b) {
		e.Rest, e.Owed = j.past.Fresh(tags.Bundle), loss.Pieces
		out.Answer.Notes = append(out.Answer.Notes, note("replacement", e.Owed, j.restName(b), e.Rest))
	}
	if b.Shipped {
		look(&out.Answer, "lost after it left", title(b, l), b.Load, b.Pieces)
	}
	out.Events = []event.Body{e}
	return out
}

// wait is how many pieces of a bundle that is part done can be lost: of those done, or of those that
// still wait for the step. What is cut by halves has only those that are cut.
func wait(b Bundle, l *Line, why event.Loss) int {
	if FromMade(b, l, why) {
		return b.Made
	}
	return b.Pieces - b.Made
}

// FromMade says whether pieces lost of a bundle that is part done are of those that are done at the step:
// the others of a bundle that is not cut are no pieces yet, and only what is bent can be misbent.
func FromMade(b Bundle, l *Line, why event.Loss) bool {
	return !b.Started && b.Made > 0 && (b.Draws(l) || why == event.Misbent)
}

// undoLoss says what stands in the way of taking a loss back.
func (j *judge) undoLoss(e event.PiecesLost) error {
	if rest, ok := j.past.Bundle(e.Rest); ok && e.Rest != 0 && rest.touched() {
		return refusal("bundle", "its replacement %v is begun; undo that first", e.Rest)
	}
	return nil
}
