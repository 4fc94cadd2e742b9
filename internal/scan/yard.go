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
	return Outcome{
		Answer: answer(event.Accepted, "placed", what, j.placeName(j.dev.Put)),
		Events: []event.Body{event.Placed{Number: n, Place: j.dev.Put}},
		Show:   n,
	}
}
