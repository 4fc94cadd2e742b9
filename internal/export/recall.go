package export

import (
	"cmp"
	"slices"

	"tagd/internal/bar"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// Recall says where steel is now, most urgent first: what has left on a truck, what stands loaded,
// what lies in yard and shop, what is left in stock. Everything that may be of a heat in question
// counts as affected; what is not certain names the other heats. Dates and times are in the plant's
// zone, as they are printed.
type Recall struct {
	Trace   bool        // a trace report: the same answer, where nothing is called back
	Plant   []string    // name of the plant, and lines of its address
	Asked   string      // what was asked for: "7041893", the number of a lot
	Heats   []heat.Key  // the heats in question
	Holds   []Hold      // on them, or on what is affected
	Bundles []Traced    // in any order
	Lots    []TracedLot // in any order
	Loads   []Sent      // where loads of those bundles went
	Certs   []heat.Cert // of the heats
	Units   bar.Units
	Printed string // when
	Through uint64 // sequence of the newest event that the answer knows; 0 is not said
	// Disputes counts the kept scans of that steel and its loads that do not fit the record: what they did counts
	// for nothing here, and may have been done.
	Disputes int
}

// Where is where a bundle is, in order of haste.
type Where uint8

// The places of bundles.
const (
	Shipped Where = iota // left the plant: on the road or delivered
	Loaded               // on a truck that has not left
	Inside               // in the yard or the shop
	InStock              // of lots only: not cut yet
)

// String is the place in words.
func (w Where) String() string { return places[min(w, InStock)].english }

// places are the names of where something is, in the order of the constants.
var places = [...]struct{ english, spanish string }{
	{"On the road or delivered", "En camino o entregado"},
	{"Loaded, not gone", "Cargado, no ha salido"},
	{"Yard and shop", "Patio y taller"},
	{"Stock and remnants", "Material y sobrantes"},
}

// Traced is a bundle of a recall.
type Traced struct {
	Bundle
	Job   string
	Where Where
	Load  tags.Number // that it is on or left on; 0 for none
	Stop  int         // of that load, from 1; 0 for none
	Place string      // in words: "A-14", "bend done, B1", "TRUCK 12"
	Since string      // when it got there
}

// TracedLot is a stock lot or remnant of a recall.
type TracedLot struct {
	Number  tags.Number
	Remnant bool
	Steel   bar.Steel
	Bars    int        // on hand
	Length  bar.Length // of a bar; 0 is coil
	Weight  bar.Mass   // of what is on hand, of bars nominal, not rounded
	Draw    heat.Draw  // zero: none
	Place   string
	Since   string
}

// Sent is where the bundles of one job at one stop of a load went, and whom to call about them.
type Sent struct {
	Load         tags.Number
	Stop         int // of the load, from 1; 0 for none
	Job, JobName string
	ShipTo       []string // lines of the address
	Truck        string
	Left         string // when it left, "" if it has not
	Contact      string // name and telephone, "" leaves room to write
}

// call is a Sent with what it carried.
type call struct {
	Sent
	sum
}

// tally is one line of where everything is. Of lots, bundles counts lots and pieces bars.
type tally struct {
	sum
	certain, oneOf int
}

// take counts a bundle or lot. Whatever is not certain may be of another heat; a bundle that nothing
// was drawn for yet is of none.
func (t *tally) take(pieces int, weight bar.Mass, d heat.Draw) {
	t.add(pieces, weight)
	switch d.Certainty {
	case heat.Certain:
		t.certain++
	case "":
	default:
		t.oneOf++
	}
}

// ordered gives the recall in the order of papers and tables: bundles by where they are, then load
// (the newest first: it may be on the road) and job, or place, then mark; lots by place and number. A recall leaves out lots that are used up.
func (r Recall) ordered() Recall {
	r.Bundles, r.Lots = slices.Clone(r.Bundles), slices.Clone(r.Lots)
	for i := range r.Bundles {
		r.Bundles[i].Where = min(r.Bundles[i].Where, Inside)
	}
	slices.SortFunc(r.Bundles, func(a, b Traced) int {
		place := 0
		if a.Where == Inside {
			place = Natural(a.Place, b.Place)
		}
		return cmp.Or(cmp.Compare(a.Where, b.Where), cmp.Compare(b.Load, a.Load), place, Natural(a.Job, b.Job), a.Bundle.compare(b.Bundle))
	})
	if !r.Trace {
		r.Lots = slices.DeleteFunc(r.Lots, func(l TracedLot) bool { return l.Bars <= 0 && (l.Length != 0 || l.Weight <= 0) })
	}
	slices.SortFunc(r.Lots, func(a, b TracedLot) int {
		return cmp.Or(Natural(a.Place, b.Place), cmp.Compare(a.Number, b.Number))
	})
	return r
}

// account is a recall in order, with weights as they are shown, and all that is counted of it.
type account struct {
	Recall
	places [InStock + 1]tally
	calls  []call
	sizes  []bar.Size
	name   func(heat.Key) string
}

func (r Recall) account() account {
	a := account{Recall: r.ordered()}
	keys := slices.Clone(r.Heats)
	var weights []bar.Mass
	for _, b := range a.Bundles {
		weights, keys, a.sizes = append(weights, b.Weight), append(keys, b.Draw.Heats...), append(a.sizes, b.Steel.Size)
	}
	for _, l := range a.Lots {
		weights, keys, a.sizes = append(weights, l.Weight), append(keys, l.Draw.Heats...), append(a.sizes, l.Steel.Size)
	}
	a.name = heatNames(keys...)
	sortSizes(a.sizes)
	a.sizes = slices.Compact(a.sizes)
	weights = shown(weights, r.Units)
	for i := range a.Bundles {
		b := &a.Bundles[i]
		b.Weight = weights[i]
		a.places[b.Where].take(b.Pieces, b.Weight, b.Draw)
		if b.Where == Shipped {
			a.call(*b)
		}
	}
	for i := range a.Lots {
		l := &a.Lots[i]
		l.Weight = weights[len(a.Bundles)+i]
		a.places[InStock].take(l.Bars, l.Weight, l.Draw)
	}
	return a
}

// call adds a bundle that left to those whom its load, job and stop went to.
func (a *account) call(b Traced) {
	i := slices.IndexFunc(a.calls, func(c call) bool { return c.Load == b.Load && c.Job == b.Job && c.Stop == b.Stop })
	if i < 0 {
		i = len(a.calls)
		a.calls = append(a.calls, call{Sent: a.sent(b)})
	}
	a.calls[i].add(b.Pieces, b.Weight)
}

// sent is where a bundle went: what is known of its load, job and stop, be it no more than these.
func (a *account) sent(b Traced) Sent {
	for _, s := range a.Loads {
		if s.Load == b.Load && s.Job == b.Job && s.Stop == b.Stop {
			return s
		}
	}
	return Sent{Load: b.Load, Job: b.Job, Stop: b.Stop}
}

// all is everything added up; lots are counted apart from bundles.
func (a *account) all() (bundles, lots tally) {
	for w, t := range a.places {
		to := &bundles
		if Where(w) == InStock {
			to = &lots
		}
		to.bundles += t.bundles
		to.pieces += t.pieces
		to.weight += t.weight
		to.certain += t.certain
		to.oneOf += t.oneOf
	}
	return bundles, lots
}

// held says whether a hold of the recall stands.
func (a *account) held() bool {
	return slices.ContainsFunc(a.Holds, func(h Hold) bool { return h.Released == nil })
}

// callsTitle heads the list of those whom steel went to.
func (a *account) callsTitle() (english, spanish string) {
	if a.Trace {
		return "Where it went", "A dónde fue"
	}
	return "Whom to call", "A quién llamar"
}

// showCerts says whether certs are told of: a trace report names the lack of them too, and heats too
// many for the head are named there.
func (a *account) showCerts() bool {
	return len(a.Heats) > 0 && (a.Trace || len(a.Certs) > 0 || len(a.Heats) > fewHeats)
}

// certRow is a cert of a heat in question, or that it has none.
type certRow struct {
	heat.Cert
	key              heat.Key
	english, spanish string // what is there of it
}

func (a *account) certRows() []certRow {
	var out []certRow
	for _, k := range a.Heats {
		n := len(out)
		for _, c := range a.Certs {
			row := certRow{c, k, "on file", "en archivo"}
			switch {
			case c.Filed.Mill != k.Mill || c.Filed.Heat != k.Heat:
				continue
			case c.Reviewed:
				row.english, row.spanish = "reviewed", "revisado"
			case len(c.Filed.SHA256) == 0:
				row.english, row.spanish = "no paper", "sin papel"
			}
			out = append(out, row)
		}
		if len(out) == n {
			out = append(out, certRow{heat.Cert{}, k, "none", "ninguno"})
		}
	}
	return out
}
