// Package heat knows steel by its melt: stock lots and remnants, heats, mill certs, holds, and how
// sure one can be of the heat of what was cut from them.
//
// A heat lives on the lot only. A run names the lots that it may have drawn, a remnant the lots that
// it may be left of; everything else is found by walking from lot to lot. So a heat mended, or a
// hold put, is one row, and never hundreds of bundles.
package heat

import (
	"slices"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/tags"
)

// Key names a heat: a heat number is unique within its mill only. Both are text for ever; "0123"
// and "123", or "01E5" and "1E5", are different heats.
type Key struct {
	Mill string
	Heat string
}

// String is how a heat is written: mill, then heat number.
func (k Key) String() string { return k.Mill + " " + k.Heat }

// Compare orders heats by mill, then heat number.
func (k Key) Compare(o Key) int {
	if c := strings.Compare(k.Mill, o.Mill); c != 0 {
		return c
	}
	return strings.Compare(k.Heat, o.Heat)
}

// Lot is the state of a stock lot or remnant.
type Lot struct {
	_ struct{} `cbor:",toarray"`

	Number   tags.Number
	Mill     string
	Heats    []string // none: unknown; of a remnant always none: see Parents
	Steel    bar.Steel
	Length   bar.Length // of a bar
	Received int        // bars
	Taken    int
	Over     int // bars taken beyond what was received: count difference
	Bundles  []event.MillBundle
	Place    tags.Number // where it was put down last
	Feed     string      // "station/feed" while it lies on one
	Melted   string
	Rolled   string
	PO       string
	Run      uint64        // of a remnant: the run that left it
	Parents  []tags.Number // of a remnant: that run's candidate lots
	At       int64         // received, or left over: Unix ms
	Gone     bool          // a remnant whose run was undone
	Copy     int           // newest copy of its tag
	// Coil has no Length: it is counted by mass.
	Mass      bar.Mass // received
	MassTaken bar.Mass
	MassOver  bar.Mass // taken beyond what was received
	Coils     []event.MillCoil
	// Counted is what counts of the yard added to the record, or took from it.
	Counted     int
	CountedMass bar.Mass
	CountedAt   int64  // last count, Unix ms; 0 never
	Declared    bool   // its heats are what a supplier's paper says of a bundle bought ready made
	Paper       *Paper // what a mill's paper said was coming; nil for what came unannounced
	// Lacking: of a remnant whose run had less metal by the record than it made; what is missing may
	// be of any heat.
	Lacking bool
}

// Paper is what a mill's paper says of a lot that is coming.
type Paper struct {
	_ struct{} `cbor:",toarray"`

	Bars    int
	Mass    bar.Mass
	Bundles []event.MillBundle
	Coils   []event.MillCoil
	Date    string // yyyy-mm-dd on which it should come
	Open    bool   // more of it is still expected
}

// OnHand is how many bars the record says are left: received + count differences - taken; none of a
// remnant whose run was undone.
func (l Lot) OnHand() int {
	if l.Gone {
		return 0
	}
	return l.Received + l.Over + l.Counted - l.Taken
}

// Coil says whether the lot is coil, which is counted by mass.
func (l Lot) Coil() bool { return l.Length == 0 }

// MassOnHand is how much coil the record says is left.
func (l Lot) MassOnHand() bar.Mass { return l.Mass + l.MassOver + l.CountedMass - l.MassTaken }

// Any says whether the record has any of the lot on hand.
func (l Lot) Any() bool {
	if l.Coil() {
		return l.MassOnHand() > 0
	}
	return l.OnHand() > 0
}

// Weighs is the mass of what is on hand: of bars the nominal one of their size and length.
func (l Lot) Weighs() bar.Mass {
	if l.Coil() {
		return max(0, l.MassOnHand())
	}
	m, _ := bar.Weigh(l.Steel.Size, l.Length*bar.Length(max(0, l.OnHand()))) // sizes of lots were checked
	return m
}

// Remnant says whether the lot is left over from a run.
func (l Lot) Remnant() bool { return l.Run != 0 }

// Past is what this package reads.
type Past interface {
	Lot(tags.Number) (Lot, bool)
	Hold(event.Target) (Hold, bool)
	Certs(Key) []Cert
}

// Certainty says how sure the heats of a bundle or lot are.
type Certainty string

// The certainties, from best to worst.
const (
	Certain  Certainty = "certain"  // one heat only could have been drawn, or a person said which
	OneOf    Certainty = "one of"   // several could; it traces to all
	Declared Certainty = "declared" // a supplier's paper says so
	Unknown  Certainty = "unknown"  // steel without a known heat could have been drawn
)

// Draw is what is known of the heats of something: all that it may be of, in order, and how sure.
type Draw struct {
	Certainty Certainty
	Heats     []Key
}

// Names are the heat numbers for a person to read, with a question mark where there may be others.
func (d Draw) Names() string {
	if len(d.Heats) == 0 {
		return "unknown"
	}
	var out []string
	for _, k := range d.Heats {
		out = append(out, k.Heat)
	}
	if d.Certainty == Unknown {
		out = append(out, "?")
	}
	return strings.Join(out, ", ")
}

// Of walks from candidate lots through the parents of remnants to heats. With a lot of unknown heat
// among them, or none at all, the draw is Unknown, and the known ones are still named; with one whose
// heats a supplier's paper declares it is Declared at best.
func Of(past Past, lots []tags.Number) Draw {
	var d Draw
	unknown, declared := len(lots) == 0, false
	for _, l := range Ancestors(past, lots) {
		unknown, declared = unknown || l.Lacking, declared || l.Declared
		switch {
		case l.Remnant() && len(l.Parents) > 0:
		case len(l.Heats) == 0:
			unknown = true
		default:
			for _, h := range l.Heats {
				d.Heats = append(d.Heats, Key{l.Mill, h})
			}
		}
	}
	slices.SortFunc(d.Heats, Key.Compare)
	d.Heats = slices.Compact(d.Heats)
	switch {
	case unknown || len(d.Heats) == 0:
		d.Certainty = Unknown
	case declared:
		d.Certainty = Declared
	case len(d.Heats) == 1:
		d.Certainty = Certain
	default:
		d.Certainty = OneOf
	}
	return d
}

// Join is the draw of something made of both a and b.
func Join(a, b Draw) Draw {
	d := Draw{Heats: slices.Concat(a.Heats, b.Heats)}
	slices.SortFunc(d.Heats, Key.Compare)
	d.Heats = slices.Compact(d.Heats)
	switch {
	case a.Certainty == Unknown || b.Certainty == Unknown:
		d.Certainty = Unknown
	case a.Certainty == Declared || b.Certainty == Declared:
		d.Certainty = Declared
	case len(d.Heats) > 1:
		d.Certainty = OneOf
	default:
		d.Certainty = Certain
	}
	return d
}

// Ancestors gives the lots and all that they may be left of, each once, the given ones first. A
// number that is no lot is left out.
func Ancestors(past Past, lots []tags.Number) []Lot {
	out := make([]Lot, 0, len(lots))
	todo := slices.Clone(lots)
	for i := 0; i < len(todo); i++ {
		if slices.Contains(todo[:i], todo[i]) {
			continue
		}
		l, ok := past.Lot(todo[i])
		if !ok {
			continue
		}
		out = append(out, l)
		todo = append(todo, l.Parents...)
	}
	return out
}
