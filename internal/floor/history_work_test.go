package floor_test

import (
	"time"

	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

func init() {
	actions = append(actions, []action{
		{8, (*history).part}, {6, (*history).take}, {6, (*history).join}, {6, (*history).single}, {4, (*history).badge}, {12, (*history).goOn},
	}...)
}

// shifts are the rules of a shop with shifts, and a shear whose runs are of one bundle.
func shifts() scan.Rules {
	r := rules()
	r.Least = 20 * time.Second
	r.Ends = []scan.Clock{6*60 + 10, 14 * 60}
	r.Stations = append(r.Stations, scan.Station{Name: "S3", Title: "Shear 3", Does: []scan.Work{"cut"}, Feeds: []string{"A"}, Pockets: []string{"1", "2"}, Single: true},
		scan.Station{Name: "B3", Title: "Bender 3", Does: []scan.Work{"bend"}, Single: true})
	return r
}

var stations = []string{"S1", "S1", "S2", "S3", "B1", "B3", "B3"}

// begun is a bundle that is at work, or part done.
func begun(b scan.Bundle) bool { return (b.Started || b.Made > 0) && !b.Voided && b.Load == 0 }

// beside says in some scans what else is known.
func (h *history) beside(x *scan.Scan) {
	if h.one("lots", 6) {
		x.Lots = []tags.Number{h.someLot()}
	}
	if h.one("bars", 6) {
		x.Bars = []event.Draw{{Lot: h.someLot(), Bars: 1 + h.upTo("bars", 6)}}
	}
}

func (h *history) part() {
	n := h.someBundle(func(b scan.Bundle) bool { return b.Done < len(h.steps[b.Number]) && !b.Voided && b.Load == 0 })
	h.scan(pick(h, "station", stations...), n, h.beside, func(x *scan.Scan) { x.Do, x.Pieces = scan.Part, h.upTo("pieces", 9) })
}

// elsewhere is a bundle that is at work at another station than this.
func (h *history) elsewhere(station string) tags.Number {
	return h.someBundle(func(b scan.Bundle) bool {
		return b.Started && b.Load == 0 && b.Station != station && b.Station[0] == station[0]
	})
}

func (h *history) take() {
	at := pick(h, "station", stations...)
	h.scan(at, h.elsewhere(at), h.beside, func(x *scan.Scan) { x.Do, x.Pieces = scan.Take, pick(h, "there", 0, 0, 1, 4) })
}

func (h *history) join() {
	at := pick(h, "station", "S1", "S2", "S2", "S3")
	h.scan(at, h.elsewhere(at), h.beside, func(x *scan.Scan) { x.Do, x.Pieces = scan.Join, pick(h, "here", 0, 0, 0, 5) })
}

// goOn scans what is at work where it is, or anywhere.
func (h *history) goOn() {
	at := pick(h, "station", stations...)
	n := h.someBundle(func(b scan.Bundle) bool { return begun(b) && (b.Station == at || b.Made > 0) })
	h.scan(at, n, h.beside, func(x *scan.Scan) { x.Pieces = pick(h, "pieces", 0, 0, 3, 7) })
}

// single works at the shear whose runs are of one bundle.
func (h *history) single() {
	if h.one("charge", 4) {
		h.scan("S3", h.someLot())
		return
	}
	n := h.someBundle(func(b scan.Bundle) bool { return b.Done == 0 && !b.Voided && b.Load == 0 })
	h.scan("S3", n, func(x *scan.Scan) { x.Pieces = pick(h, "pieces", 0, 0, 0, 4) })
}

func (h *history) badge() {
	n, _ := tags.New(tags.Person, 1, 1+h.upTo("person", 2))
	h.scan(pick(h, "station", "S1", "B1"), n)
}
