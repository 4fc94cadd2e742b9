package scan

import "tagd/internal/event"

// voided judges a tag of a bundle that is out of the work. Where a revision of the list took it out, the
// answer names the tag to use. Pieces that are counted are cut: they are recorded all the same, and
// nothing is owed for those that lack.
func (j *judge) voided(b Bundle, l *Line) Outcome {
	instead, fell := j.past.InPlace(b)
	if !fell {
		return j.refuse(b.Number, "voided", title(b, l), j.when(b.At))
	}
	if step := j.step(b, l); j.scan.Pieces > 0 && (j.scan.Do == Scanned || j.scan.Do == Part) && Step(b.Next(l)) == step && draws[step] && b.Done == 0 {
		out := j.cut(b, l)
		if out.Answer.Verdict != event.Refused {
			look(&out.Answer, "cut though revised", title(b, l), l.List)
		}
		return out
	}
	if instead == 0 {
		return j.refuse(b.Number, "line withdrawn", title(b, l), l.List)
	}
	next, _ := j.past.Bundle(instead)
	return j.refuse(b.Number, "list revised", title(b, l), l.List, title(next, j.past.Line(next.Line)), instead)
}

// owes says whether the line of a bundle wants what the bundle lacks: not if the list asks for no more of
// it.
func (j *judge) owes(b Bundle) bool {
	return !b.Voided && j.owesAnew(b)
}
