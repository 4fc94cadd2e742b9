package pages

import (
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// foundPart is a thing that was scanned, and where it is.
type foundPart struct {
	Number tags.Number
	Bundle *scan.Bundle
	Line   *scan.Line
	Next   string // step of the bundle
	Lot    *lotOn
	Place  string // "" nobody knows
}

// foundOf is what the number of a scan is, and where it lies; nil where it is neither a bundle nor a lot.
func foundOf(past *view.Past, n tags.Number) *foundPart {
	f := &foundPart{Number: n}
	switch n.Kind() {
	case tags.Bundle:
		b, ok := past.Bundle(n)
		if !ok {
			return nil
		}
		f.Bundle, f.Line = &b, past.Line(b.Line)
		f.Next, f.Place = b.Next(f.Line), scan.LiesAt(past, b)
	case tags.Stock:
		l, ok := past.Lot(n)
		if !ok {
			return nil
		}
		one := onHand(past, l)
		if f.Lot, f.Place = &one, l.Feed; f.Place == "" {
			f.Place, _ = past.Place(l.Place)
		}
	default:
		return nil
	}
	return f
}
