package scan

import (
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// place makes the place the one that this device puts things down at.
func (j *judge) place(n tags.Number) Outcome {
	name, ok := j.past.Place(n)
	if !ok {
		return j.refuse(n, "not known", n)
	}
	return Outcome{
		Answer: answer(event.Accepted, "place opened", name),
		Events: []event.Body{event.PlaceOpened{Place: n}},
		Show:   n,
	}
}

// put puts a bundle down at the device's open place; with none open it says where the bundle is.
func (j *judge) put(b Bundle, l *Line) Outcome {
	if out, gone := j.gone(b, l); gone {
		return out
	}
	if j.dev.Put == 0 {
		return j.show(b.Number)
	}
	return j.placed(b.Number, title(b, l))
}

// putLot does the same for a lot.
func (j *judge) putLot(lot heat.Lot) Outcome {
	if j.dev.Put == 0 {
		return j.show(lot.Number)
	}
	out := j.placed(lot.Number, lot.Number.String())
	if e, ok := j.plainly(lot, 1); ok {
		j.tookAsReceived(&out, e)
	}
	return out
}

func (j *judge) placed(n tags.Number, what string) Outcome {
	return j.tellHeld(Outcome{
		Answer: answer(event.Accepted, "placed", what, j.placeName(j.dev.Put)),
		Events: []event.Body{event.Placed{Number: n, Place: j.dev.Put}},
		Show:   n,
	}, n, what)
}

// tellHeld adds to an answer that the thing is held, where nothing is refused for it.
func (j *judge) tellHeld(out Outcome, n tags.Number, what any) Outcome {
	var h heat.Hold
	held := false
	switch n.Kind() {
	case tags.Bundle:
		b, _ := j.past.Bundle(n)
		h, held = j.held(b, Drawn(j.past, b))
	case tags.Stock:
		h, held = heat.HoldOn(j.past, []tags.Number{n})
	case tags.Load:
		h, held = j.past.Hold(event.Target{Number: n})
	}
	if held && out.Answer.Verdict != event.Refused {
		kind, name := heat.Named(h.Target)
		out.Answer.Notes = append(out.Answer.Notes, note("is held", what, kind, name, h.Reason))
	}
	return out
}
