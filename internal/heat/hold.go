package heat

import (
	"slices"

	"tagd/internal/event"
	"tagd/internal/tags"
)

// Hold is a stop that has not been lifted.
type Hold struct {
	Target event.Target  `cbor:"1,keyasint"`
	Reason string        `cbor:"2,keyasint"`
	At     int64         `cbor:"3,keyasint"` // Unix ms
	People []tags.Number `cbor:"4,keyasint,omitempty"`
	Seq    uint64        `cbor:"5,keyasint"`
}

// What says in words what is held: "heat MILL 123", or the number.
func What(t event.Target) string {
	kind, name := Named(t)
	return kind + " " + name
}

// Named says the same in two parts: "heat" and "MILL 123", or the kind of number and the number.
func Named(t event.Target) (kind, name string) {
	if t.Number != 0 {
		return t.Number.Kind().String(), t.Number.String()
	}
	return "heat", Key{t.Mill, t.Heat}.String()
}

// HoldOn finds a hold that stops what is drawn from the lots: on a lot, on any lot that it may be
// left of, or on a heat of one of these.
func HoldOn(past Past, lots []tags.Number) (Hold, bool) {
	all := Ancestors(past, lots)
	for _, l := range all {
		if h, ok := past.Hold(event.Target{Number: l.Number}); ok {
			return h, true
		}
	}
	var seen []Key
	for _, l := range all {
		for _, name := range l.Heats {
			k := Key{l.Mill, name}
			if slices.Contains(seen, k) {
				continue
			}
			seen = append(seen, k)
			if h, ok := past.Hold(event.Target{Mill: k.Mill, Heat: k.Heat}); ok {
				return h, true
			}
		}
	}
	return Hold{}, false
}
