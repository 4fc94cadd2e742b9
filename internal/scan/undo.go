package scan

import (
	"tagd/internal/event"
	"tagd/internal/tags"
)

// Undo takes back the newest progress of a bundle: a start, a step done, a loading. What others have
// built on it meanwhile (a remnant cut again, a remainder begun, a later closing of the run) stops
// it, and the refusal says what to undo first.
func Undo(past Past, rules Rules, n tags.Number, reason string) (event.Undone, event.Answer, error) {
	var a event.Answer
	reason, err := event.CleanText("reason", reason, event.MostReason)
	u := event.Undone{Bundle: n, Reason: reason}
	if err != nil {
		return u, a, err
	}
	b, l, err := bundleOf(past, "bundle", n)
	switch {
	case err != nil:
		return u, a, err
	case u.Reason == "":
		return u, a, refusal("reason", "is missing; say what was wrong")
	case b.CameFrom() != 0 && (len(b.Progress) == 0 || b.Into() != 0):
		return u, a, refusal("bundle", "%v came back from load %v, which is not undone; if it did not come back, scan it onto that load and say that the truck has gone", n, b.CameFrom())
	case b.Into() != 0:
		return u, a, refusal("bundle", "%v was merged into %v; undo that there", n, b.Into())
	case len(b.Progress) == 0 && b.Kin != nil && len(b.Kin.Parents) > 0:
		return u, a, refusal("bundle", "%v was parted from %v, and nothing was done with it since; undo the split there", n, b.Kin.Parents[0])
	case len(b.Progress) == 0 && !b.Voided:
		return u, a, refusal("bundle", "%v has no progress to undo", n)
	}
	var newest event.Body
	if len(b.Progress) > 0 {
		u.Seq = b.Progress[len(b.Progress)-1]
		newest = past.Body(u.Seq)
	}
	_, lost := newest.(event.PiecesLost)
	switch { // pieces that were found again come back, wherever the bundle is
	case lost:
	case b.Voided:
		return u, a, refusal("bundle", "%v is voided", n)
	case b.Shipped:
		return u, a, refusal("bundle", "%v left on load %v; what has left is not undone; what came back is returned", n, b.Load)
	}
	j := &judge{past: past, rules: rules}
	a = answer(event.Accepted, "undone", title(b, l))
	switch e := newest.(type) {
	case event.PiecesLost:
		return u, a, j.undoLoss(e)
	case event.BundleSplit:
		return u, a, j.undoSplit(e)
	case event.HeatsDeclared:
		if l, _ := past.Lot(e.Lot); l.Taken > l.Received || l.Feed != "" {
			return u, a, refusal("bundle", "lot %v, which its paper made, is in use elsewhere; undo what was cut from it, or take it off the feed, first", e.Lot)
		}
		return u, a, nil
	case event.BundlesMerged:
		return u, a, j.undoMerge(e)
	case event.BundleReassigned:
		return u, a, refusal("bundle", "%v was given to another line; to give it back, reassign it once more", n)
	case event.RunOpened, event.RunJoined:
		run, _ := past.Run(b.Runs[len(b.Runs)-1])
		closed := j.undoStart(&u, b, run)
		a.Verdict, a.Notes = closed.Verdict, append(a.Notes, closed.Notes...)
		return u, a, nil
	case event.CutDone, event.CoilCut, event.PartDone:
	default:
		return u, a, nil
	}
	seq := EndedRun(past, u.Seq)
	if seq == 0 { // a part of a step that draws no stock
		return u, a, nil
	}
	run, _ := past.Run(seq)
	if err := j.undoCut(run, u.Seq); err != nil {
		return u, a, err
	}
	if run.By != 0 && !run.Said {
		// What was charged while the run was closed may be cut in it from now on.
		again := run
		if len(past.Closing(run).Lots)+len(past.CoilClosing(run).Lots) > 0 {
			again.Lots = run.Before
		}
		for _, lot := range past.Floor(run.Station).Lots() {
			if l, _ := past.Lot(lot); run.Steel.Matches(l.Steel) {
				u.Lots = append(u.Lots, further(again, []tags.Number{lot})...)
			}
		}
	}
	return u, a, nil
}

// CutOf is the CutDone that a body is, or what one from coil has in common with it.
func CutOf(body event.Body) (event.CutDone, bool) {
	switch b := body.(type) {
	case event.CutDone:
		return b, true
	case event.CoilCut:
		return event.CutDone{Run: b.Run, Bundle: b.Bundle, Pieces: b.Pieces, Rest: b.Rest, Owed: b.Owed, Asked: b.Asked}, true
	}
	return event.CutDone{}, false
}

// EndedRun is the run in which the event at a sequence ended a share of a bundle; 0 where it did not.
func EndedRun(past interface{ Body(uint64) event.Body }, seq uint64) uint64 {
	body := past.Body(seq)
	if cut, ok := CutOf(body); ok {
		if cut.Run == 0 {
			return seq - 1
		}
		return cut.Run
	}
	part, ok := body.(event.PartDone)
	if !ok || part.Run != 0 {
		return part.Run
	}
	if opened, ok := past.Body(seq - 1).(event.RunOpened); ok && opened.Bundle == part.Bundle {
		return seq - 1
	}
	return 0
}

// undoStart lets a bundle leave its run. When only done bundles stay behind, the run closes, and the
// answer says with what.
func (j *judge) undoStart(u *event.Undone, b Bundle, run Run) event.Answer {
	left := run
	left.Members = nil
	for _, m := range run.Members {
		if m.Bundle != b.Number || m.Done {
			left.Members = append(left.Members, m)
		}
	}
	var a event.Answer
	if len(left.Members) > 0 && left.Left() == 0 {
		c := j.close(&a, left, j.past.Line(b.Line))
		u.Closed = &c
	}
	return a
}

// undoCut says what stands in the way of taking back a bundle cut.
func (j *judge) undoCut(run Run, seq uint64) error {
	if done, ok := j.past.Cut(seq); ok && done.Rest != 0 {
		if rest, _ := j.past.Bundle(done.Rest); rest.touched() {
			return refusal("bundle", "its remainder %v is begun; undo that first", done.Rest)
		}
	}
	if run.By == 0 {
		return nil
	}
	if run.By != seq {
		var last tags.Number
		switch b := j.past.Body(run.By).(type) {
		case event.CutDone:
			last = b.Bundle
		case event.PartDone:
			last = b.Bundle
		}
		if last != 0 {
			return refusal("bundle", "its run was closed later, with bundle %v; undo that one first", last)
		}
	}
	if f := j.past.Floor(run.Station); f.Run != 0 {
		return refusal("bundle", "%s has another run open; finish that first", run.Station)
	}
	for _, r := range j.past.Closing(run).Remnants {
		if l, ok := j.past.Lot(r.Lot); ok && (l.Taken > 0 || l.Feed != "") {
			return refusal("bundle", "remnant %v that it left is in use; undo what was cut from it, or take it off the feed, first", r.Lot)
		}
	}
	return nil
}

// Void takes a bundle that is not begun out of the work. Steel that is cut does not go away by a
// word: it is undone, or recorded as lost.
func Void(past Past, n tags.Number, reason string) (event.BundleVoided, error) {
	reason, err := event.CleanText("reason", reason, event.MostReason)
	v := event.BundleVoided{Bundle: n, Reason: reason}
	if err != nil {
		return v, err
	}
	b, _, err := bundleOf(past, "bundle", n)
	switch {
	case err != nil:
		return v, err
	case v.Reason == "":
		return v, refusal("reason", "is missing; say why the bundle is not made")
	case b.Voided:
		return v, refusal("bundle", "%v is voided already", n)
	case b.Shipped:
		return v, refusal("bundle", "%v left on load %v; record what is lost of it as lost pieces", n, b.Load)
	case b.Load != 0:
		return v, refusal("bundle", "%v is on load %v; unload it first", n, b.Load)
	case b.Begun():
		return v, refusal("bundle", "%v is begun; record its pieces as lost, or undo its progress first", n)
	}
	return v, nil
}
