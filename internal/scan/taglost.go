package scan

import (
	"tagd/internal/event"
	"tagd/internal/tags"
)

// LostTag records that the copies of a number's tag up to one, or with 0 up to the newest, are not where
// they should be.
func LostTag(past Past, n tags.Number, copies int, reason string) (event.TagLost, event.Answer, error) {
	var a event.Answer
	reason, err := event.CleanText("reason", reason, event.MostReason)
	e := event.TagLost{Number: n, Copy: copies, Reason: reason}
	if err != nil {
		return e, a, err
	}
	newest, known := 0, false
	switch n.Kind() {
	case tags.Bundle:
		var b Bundle
		b, known = past.Bundle(n)
		newest = b.Copy
	case tags.Stock:
		l, ok := past.Lot(n)
		newest, known = l.Copy, ok
	case tags.Load:
		l, ok := past.Load(n)
		newest, known = l.Copy, ok
	}
	newest = max(newest, 1) // a first copy may have been printed with nothing recorded
	switch {
	case !known:
		return e, a, refusal("number", "%v is no bundle, lot or load of this plant", n)
	case copies < 0 || copies > newest:
		return e, a, refusal("copy", "is %d; the newest copy of %v is %d", copies, n, newest)
	case copies == 0:
		e.Copy = newest
	}
	return e, answer(event.Accepted, "tag lost", n, e.Copy, newest+1), nil
}
