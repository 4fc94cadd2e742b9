package scan

import (
	"slices"

	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// lot judges the tag of a stock lot or remnant: onto a feed, off it, or put down in the yard.
func (j *judge) lot(n tags.Number) Outcome {
	lot, ok := j.past.Lot(n)
	if !ok || lot.Gone {
		return j.refuse(n, "not known", n)
	}
	switch {
	case j.scan.Do == Count, j.scan.Do == None:
		return j.count(lot)
	case j.scan.Do == Last && !lot.Coming():
		return j.refuse(n, "not expected", n)
	case j.scan.Do == Last && !j.at.Can(Receiving):
		return j.refuse(n, "not here", "stock", j.at.Title, j.stationsFor(string(Receiving)))
	case j.scan.Do == Last, j.scan.Do == Scanned && j.receives(lot):
		return j.arrives(lot)
	}
	if len(j.at.Feeds) == 0 && j.scan.Do != Empty {
		if j.at.Can(Yard) || j.at.Can(Receiving) || j.at.Can(Staging) {
			return j.putLot(lot)
		}
		return j.refuse(n, "not here", "stock", j.at.Title, j.stationsFor(string(Cut)))
	}
	if j.scan.Do == Empty {
		return j.empty(n)
	}
	feed, out := j.feed(n)
	if feed == "" {
		return out
	}
	floor := j.past.Floor(j.at.Name)
	if slices.Contains(lotsOn(floor, feed), n) {
		return Outcome{Answer: answer(event.Accepted, "charged already", n, feed), Show: n, Run: floor.Run}
	}
	e := event.FeedCharged{Station: j.at.Name, Feed: feed, Lot: n}
	out = Outcome{Show: n, Run: floor.Run}
	out.Answer = answer(event.Accepted, "charged", n, lot.Steel, heat.Of(j.past, []tags.Number{n}).Names(), feed)
	// A charge is a deed: the bars lie there. What would refuse a start from them is said now.
	if floor.Run != 0 {
		run, _ := j.past.Run(floor.Run)
		if run.Steel.Matches(lot.Steel) {
			e.Run = floor.Run
			j.chargedInto(&out.Answer, run, n)
		} else {
			look(&out.Answer, "other steel charged", lot.Steel, run.Steel)
		}
	}
	if h, held := heat.HoldOn(j.past, []tags.Number{n}); held {
		kind, name := heat.Named(h.Target)
		look(&out.Answer, "held lot charged", kind, name, h.Reason)
	}
	came, plainly := j.plainly(lot, 1)
	if !lot.Any() && !plainly {
		look(&out.Answer, "used up", n)
	}
	if lot.Feed != "" {
		look(&out.Answer, "on two feeds", n, lot.Feed, j.at.Name+"/"+feed)
	}
	if j.scan.Late && max(floor.Fed, floor.Closed) > j.scan.At {
		look(&out.Answer, "charged late", n, feed, j.when(j.scan.At))
	}
	out.Events = []event.Body{e}
	if plainly {
		j.tookAsReceived(&out, came)
	}
	return out
}

// chargedInto looks at an open run that a lot was charged into: whether a job of what is still to be
// cut would have refused a start from it.
func (j *judge) chargedInto(a *event.Answer, run Run, n tags.Number) {
	if run.Said {
		return // a person has said what it is cut from
	}
	lots := union(run.Lots, n)
	for _, m := range run.Members {
		if m.Done {
			continue
		}
		b, _ := j.past.Bundle(m.Bundle)
		if no := j.rulesAtStart(b, j.past.Line(b.Line), lots); no.Answer.Verdict == event.Refused {
			heed(a, no)
			return
		}
	}
}

// feed is the feed that was typed, or the station's first.
func (j *judge) feed(show tags.Number) (string, Outcome) {
	switch {
	case len(j.at.Feeds) == 0:
		return "", j.refuse(show, "not here", "stock", j.at.Title, j.stationsFor(string(Cut)))
	case j.scan.Feed == "":
		return j.at.Feeds[0], Outcome{}
	case !slices.Contains(j.at.Feeds, j.scan.Feed):
		return "", j.refuse(show, "no feed", j.at.Title, cut(j.scan.Feed, 40), join(j.at.Feeds))
	}
	return j.scan.Feed, Outcome{}
}

func lotsOn(f Floor, feed string) []tags.Number {
	for _, one := range f.Feeds {
		if one.Name == feed {
			return one.Lots
		}
	}
	return nil
}

// empty takes a lot, or with 0 all, off a feed. Without a typed feed, a lot is taken off the one
// that it lies on.
func (j *judge) empty(n tags.Number) Outcome {
	floor := j.past.Floor(j.at.Name)
	feed, out := j.feed(n)
	if feed == "" {
		return out
	}
	if j.scan.Late && floor.Fed > j.scan.At {
		return j.refuse(n, "station went on", j.at.Title, j.when(j.scan.At))
	}
	if n != 0 && j.scan.Feed == "" {
		for _, f := range floor.Feeds {
			if slices.Contains(f.Lots, n) {
				feed = f.Name
			}
		}
	}
	lots := lotsOn(floor, feed)
	if len(lots) == 0 || n != 0 && !slices.Contains(lots, n) {
		what := "nothing"
		if n != 0 {
			what = n.String()
		}
		return j.refuse(n, "not on the feed", what, feed, numbers(lots))
	}
	what := n.String()
	if n == 0 {
		what = numbers(lots)
	}
	return Outcome{
		Answer: answer(event.Accepted, "emptied", what, feed),
		Events: []event.Body{event.FeedEmptied{Station: j.at.Name, Feed: feed, Lot: n, Place: j.dev.Put}},
		Show:   n, Run: floor.Run,
	}
}
