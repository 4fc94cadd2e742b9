package scan

import (
	"slices"

	"tagd/internal/event"
	"tagd/internal/tags"
)

// A late scan is one that a device kept while it had no network. It is judged when it comes, in the
// device's order, against what is recorded by now; intervals are those of the device's clock. What the
// rules refuse then may be done all the same, so it is not lost: it becomes a dispute, which holds the
// whole scan and counts for nothing until a person has settled it (Resolve).
//
// Two things could make a late scan mean something else than it did: another device worked on the
// bundle since, or at the station. Both are refused, and so disputed. A late charge is a deed: the bars
// lie there; a Check says that what was cut since then may be of them.

// late makes an outcome one of a late scan: a refusal becomes a dispute, and what would change nothing is
// noted, so that it has the same receipt when it is sent again.
func (j *judge) late(o Outcome) Outcome {
	if o.Answer.Verdict != event.Refused {
		if len(o.Events) == 0 {
			o.Events = []event.Body{event.ScanNoted{Number: o.Show}}
		}
		return o
	}
	s := j.scan
	d := event.ScanDisputed{
		Number: o.Show, Do: string(s.Do), Pieces: s.Pieces, Feed: s.Feed, Pocket: s.Pocket, Lots: s.Lots, Bars: s.Bars,
		Remnants: s.Remnants, Gone: s.Gone, Why: s.Why, Coils: s.Coils, Scrap: s.Scrap, Load: j.dev.Load, Put: j.dev.Put,
	}
	what := o.Show.String()
	if b, ok := j.past.Bundle(o.Show); ok {
		what = title(b, j.past.Line(b.Line))
	}
	switch kind := o.Show.Kind(); {
	case o.Show == 0:
		d.Text = cut(s.Read.Text, mostText)
		if what = cut(d.Text, 40); what == "" {
			what = string(s.Do)
		}
		// Whatever it was, it may have opened another load or place: nothing is put there by guess.
		d.Load, d.Put = 0, 0
	case kind == tags.Load && s.Do == Ship:
		d.Load = 0
	case kind == tags.Load && s.Do == Scanned && j.at.Can(Loadout):
		if d.Load = o.Show; o.Answer.Notes[0].Code == "not known" {
			d.Load = 0
		}
	case kind == tags.Place && s.Do == Scanned:
		d.Put = 0
	}
	a := answer(event.Check, "disputed", what, j.when(s.At))
	a.Notes = append(a.Notes, o.Answer.Notes...)
	o.Answer, o.Events = a, []event.Body{d}
	return o
}

// mostText is the most characters of a text that a dispute keeps.
const mostText = 4000

// Unread is the outcome of a kept scan of which no scan can be made: its text stands on the list, with
// why it cannot be read. At is the time of the device's clock, Unix ms.
func Unread(rules Rules, text, why string, at int64) Outcome {
	a := answer(event.Check, "disputed", cut(text, 40), rules.When(at))
	look(&a, "kept not read", cut(why, 200))
	return Outcome{Answer: a, Events: []event.Body{event.ScanDisputed{Text: cut(text, mostText)}}}
}

// happened is when an event happened by its device's clock, or else was recorded.
func happened(e event.Event) int64 {
	if e.Happened != 0 {
		return e.Happened
	}
	return e.Recorded
}

// meanwhile says whether another device did something since a late scan.
func (j *judge) meanwhile(e event.Event) bool {
	return e.Device != j.scan.Device && happened(e) > j.scan.At
}

// overtaken refuses a late scan of a bundle that another device worked on since.
func (j *judge) overtaken(b Bundle, l *Line) (Outcome, bool) {
	if !j.scan.Late {
		return Outcome{}, false
	}
	moves := j.step(b, l) == "" // it says where the bundle is; a step does not care
	for _, seqs := range [][]uint64{b.Progress, b.Events} {
		for _, seq := range slices.Backward(seqs) {
			e := j.past.Event(seq)
			if e.Recorded <= j.scan.At {
				break
			}
			switch e.Body.(type) {
			case event.TagPrinted, event.TagLost, event.LoadPlanned, event.LoadSet, event.Shipped, event.Claimed, event.ScanDisputed, event.Resolved:
				continue // nobody laid a hand on it
			case event.Placed:
				if !moves {
					continue
				}
			}
			if j.meanwhile(e) {
				return j.refuse(b.Number, "worked on since", title(b, l), j.when(happened(e))), true
			}
		}
	}
	return Outcome{}, false
}

// wentOn refuses a late start where another device changed the feeds since, or opened the run that is on
// the table: the lots that lay there then are not those that the record would name.
func (j *judge) wentOn(b Bundle) (Outcome, bool) {
	floor := j.past.Floor(j.at.Name)
	if !j.scan.Late || b.Started && slices.Contains(b.Runs, floor.Run) {
		return Outcome{}, false
	}
	run, open := j.past.Run(floor.Run)
	opened := open && run.At > j.scan.At && j.meanwhile(j.past.Event(run.Seq))
	if opened || floor.Fed > j.scan.At && !j.said() {
		return j.refuse(b.Number, "station went on", j.at.Title, j.when(j.scan.At)), true
	}
	return Outcome{}, false
}

// said says whether the person said from which lots was cut. Bars that a person counted say it only of
// the end of a run.
func (j *judge) said() bool { return len(j.scan.Lots) > 0 }

// deed makes a scan that a person takes as done one that the rules cannot refuse: work on a bundle is done
// with the pieces that were counted, else with those that the tag asks for.
func (j *judge) deed(b Bundle, l *Line) {
	if !j.scan.Deed || j.scan.Do != Scanned && !shared[j.scan.Do] || j.step(b, l) == "" {
		return
	}
	if j.scan.Pocket = ""; j.scan.Do != Part { // it lay there then, and to take over is to make
		j.scan.Do = Scanned
	}
	if j.scan.Pieces == 0 {
		j.scan.Pieces = b.ToDo()
	}
}

// forgotten says whether what lay on the feeds when a deed was done is not known any more. What is left
// then are the lots whose bars a person counted.
func (j *judge) forgotten(floor Floor) (lots []tags.Number, yes bool) {
	for _, d := range j.scan.Bars {
		lots = append(lots, d.Lot)
	}
	return lots, j.scan.Deed && floor.Fed > j.scan.At && !j.said()
}
