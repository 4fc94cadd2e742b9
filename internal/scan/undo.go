package scan

import (
	"fmt"
	"strings"

	"tagd/internal/event"
	"tagd/internal/tags"
)

func refusal(field, format string, args ...any) error {
	return &event.Refusal{Field: field, Says: fmt.Sprintf(format, args...)}
}

// Undo takes back the newest progress of a bundle: a start, a step done, a loading. What others have
// built on it meanwhile (a remnant cut again, a remainder begun, a later closing of the run) stops
// it, and the refusal says what to undo first.
func Undo(past Past, rules Rules, n tags.Number, reason string) (event.Undone, error) {
	u := event.Undone{Bundle: n, Reason: strings.TrimSpace(reason)}
	b, ok := past.Bundle(n)
	switch {
	case !ok:
		return u, refusal("bundle", "%v was never given out here", n)
	case u.Reason == "":
		return u, refusal("reason", "is missing; say what was wrong")
	case b.Voided:
		return u, refusal("bundle", "%v is voided", n)
	case b.Shipped:
		return u, refusal("bundle", "%v left on load %v; what has left is not undone", n, b.Load)
	case len(b.Progress) == 0:
		return u, refusal("bundle", "%v has no progress to undo", n)
	}
	u.Seq = b.Progress[len(b.Progress)-1]
	j := judge{past: past, rules: rules}
	if len(b.Runs) == 0 || b.Done > 1 || b.Load != 0 || b.Done == 1 && b.Started {
		return u, nil
	}
	run, _ := past.Run(b.Runs[len(b.Runs)-1])
	if b.Started {
		return j.undoStart(u, b, run)
	}
	return u, j.undoCut(b, run, u.Seq)
}

// undoStart lets a bundle leave its run. When only done bundles stay behind, the run closes.
func (j judge) undoStart(u event.Undone, b Bundle, run Run) (event.Undone, error) {
	left := run
	left.Members = nil
	for _, m := range run.Members {
		if m.Bundle != b.Number {
			left.Members = append(left.Members, m)
		}
	}
	if len(left.Members) > 0 && left.Left() == 0 {
		var a event.Answer
		c := j.close(&a, left, j.past.Line(b.Line))
		u.Closed = &c
	}
	return u, nil
}

// undoCut says what stands in the way of taking back a bundle cut.
func (j judge) undoCut(b Bundle, run Run, seq uint64) error {
	if done, ok := j.past.Cut(seq); ok && done.Rest != 0 {
		if rest, _ := j.past.Bundle(done.Rest); len(rest.Progress) > 0 {
			return refusal("bundle", "its remainder %v is begun; undo that first", done.Rest)
		}
	}
	f := j.past.Floor(run.Station)
	if run.Closed == nil {
		return nil
	}
	if run.By != seq {
		return refusal("bundle", "its run was closed later, with another bundle; undo that bundle first")
	}
	if f.Run != 0 {
		return refusal("bundle", "%s has another run open; finish that first", run.Station)
	}
	for _, r := range run.Closed.Remnants {
		if l, ok := j.past.Lot(r.Lot); ok && (l.Taken > 0 || l.Feed != "") {
			return refusal("bundle", "remnant %v that it left is in use; undo what was cut from it, or take it off the feed, first", r.Lot)
		}
	}
	return nil
}

// Void takes a bundle that is not begun out of the work. Steel that is cut does not go away by a
// word: it is undone, or recorded as lost.
func Void(past Past, n tags.Number, reason string) (event.BundleVoided, error) {
	v := event.BundleVoided{Bundle: n, Reason: strings.TrimSpace(reason)}
	b, ok := past.Bundle(n)
	switch {
	case !ok:
		return v, refusal("bundle", "%v was never given out here", n)
	case v.Reason == "":
		return v, refusal("reason", "is missing; say why the bundle is not made")
	case b.Voided:
		return v, refusal("bundle", "%v is voided already", n)
	case len(b.Progress) > 0:
		return v, refusal("bundle", "%v is begun; undo its progress first", n)
	}
	return v, nil
}
