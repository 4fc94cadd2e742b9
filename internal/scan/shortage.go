package scan

import (
	"cmp"
	"slices"

	"tagd/internal/bar"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// # What cannot be made from the stock on hand
//
// The waiting cuts are laid on all stock on hand, each bar once: what lies on feeds before what has to be
// brought, then the oldest first; steel that is held is not there. First come the runs that are open,
// which have their bars already; then truck by truck in the order of the trucks, what a truck needs of one
// steel together, by first-fit decreasing. What is left of a bar is stock for the next truck where it is
// worth keeping. What no bar is left for is short, and is laid on bars of the lengths that the plant buys,
// the usual one first. Coil is counted by mass.
//
// What this does not know: which heats and origins a job allows, and what is still to come from the mill.

// Short is what is short of one steel and length.
type Short struct {
	Steel   bar.Steel
	Length  bar.Length
	Coil    bool // it is cut from coil
	Pieces  int
	Mass    bar.Mass // of them
	Bundles []tags.Number
	Truck   int // the first that misses some, in the order of the trucks
}

// Buy is what would serve the short pieces of a steel: bars of a length that the plant buys, or coil by
// its mass. Where Bars is 0 and it is no coil, the Pieces are longer than all that the plant buys.
type Buy struct {
	Steel  bar.Steel
	Coil   bool
	Length bar.Length
	Bars   int
	Mass   bar.Mass
	Pieces int
}

// Cuts are pieces, and how long all of them are together.
type Cuts struct {
	Pieces int
	Length bar.Length
}

// Shortage is what cannot be made from the stock on hand.
type Shortage struct {
	Short []Short // by steel, the longest first
	Buy   []Buy   // by steel, the longest first
	// Asked are all waiting cuts of bars, and Made those that can be made of what is on hand.
	Asked, Made Cuts
}

// Shortage lays the waiting cuts on the stock on hand.
func (w Wanted) Shortage(past NeedsPast, rules Rules) Shortage {
	y := &yard{past: past, rules: rules, lots: map[tags.Number]bool{}, steels: map[bar.Steel]bool{}, need: map[tags.Number]int{}}
	for _, st := range rules.Stations {
		for _, n := range past.Floor(st.Name).Lots() {
			if !slices.Contains(y.feeds, n) {
				y.feeds = append(y.feeds, n)
			}
		}
	}
	for i, n := range w.Needs {
		if pieces, _ := n.Draws(); pieces > 0 {
			y.need[n.Bundle.Number] = i
		}
	}
	inRun := map[tags.Number]bool{}
	for _, st := range rules.Stations {
		run, ok := past.Run(past.Floor(st.Name).Run)
		if !ok {
			continue
		}
		var wants []Want
		for _, m := range run.Members {
			b, _ := past.Bundle(m.Bundle)
			switch {
			case m.Done: // cut, and its bars are booked when the run closes
				wants = append(wants, Want{0, m.Length, m.Pieces})
			case !inRun[m.Bundle]: // one that is cut at two shears is to be cut once
				wants = append(wants, Want{m.Bundle, m.Length, b.ToDo()})
				inRun[m.Bundle] = true
			}
		}
		y.take(w, run.Steel, y.runOfCoil(run), wants)
	}
	type kind struct {
		steel bar.Steel
		coil  bool
	}
	var kinds []kind
	wants := map[kind][]Want{}
	for i, n := range w.Needs {
		if pieces, coil := n.Draws(); pieces > 0 && !inRun[n.Bundle.Number] {
			k := kind{n.Line.Steel, coil}
			if wants[k] == nil {
				kinds = append(kinds, k)
			}
			wants[k] = append(wants[k], Want{n.Bundle.Number, n.Line.Length, pieces})
		}
		if i+1 < len(w.Needs) && w.Needs[i+1].Truck == n.Truck {
			continue
		}
		for _, k := range kinds {
			y.take(w, k.steel, k.coil, wants[k])
		}
		kinds, wants = nil, map[kind][]Want{}
	}
	y.buy()
	return y.out
}

// yard is the stock on hand while cuts are laid on it.
type yard struct {
	past   NeedsPast
	rules  Rules
	feeds  []tags.Number
	lots   map[tags.Number]bool // that were looked at
	steels map[bar.Steel]bool   // that were gathered
	bars   []lying
	coil   []lying
	need   map[tags.Number]int // place of each bundle in the needs
	out    Shortage
}

// lying is what is left of a lot: bars of one length, or coil.
type lying struct {
	From
	steel bar.Steel
	mass  bar.Mass
}

// gather looks up the lots that a steel may be cut from.
func (y *yard) gather(s bar.Steel) {
	if y.steels[s] {
		return
	}
	y.steels[s] = true
	add := func(l heat.Lot) {
		if y.lots[l.Number] {
			return
		}
		y.lots[l.Number] = true
		if _, held := heat.HoldOn(y.past, []tags.Number{l.Number}); held || !l.Any() {
			return
		}
		if l.Coil() {
			y.coil = append(y.coil, lying{From{Lot: l.Number}, l.Steel, l.MassOnHand()})
		} else {
			y.bars = append(y.bars, lying{From{l.Number, l.Length, l.OnHand()}, l.Steel, 0})
		}
	}
	for _, n := range y.feeds {
		if l, _ := y.past.Lot(n); s.Matches(l.Steel) {
			add(l)
		}
	}
	y.past.LotsOf(s, func(l heat.Lot) bool { add(l); return true })
}

// runOfCoil says whether an open run takes coil.
func (y *yard) runOfCoil(r Run) bool {
	for _, m := range r.Members {
		b, _ := y.past.Bundle(m.Bundle)
		if step := b.DrawStep(y.past.Line(b.Line)); step != "" {
			return step == CutAndBend
		}
	}
	return false
}

// take lays cuts of one steel on what is left, and books what is short of what the trucks need.
func (y *yard) take(w Wanted, s bar.Steel, coil bool, wants []Want) {
	y.gather(s)
	if coil {
		y.unroll(w, s, wants)
		return
	}
	var stock []From
	for _, b := range y.bars {
		if b.Bars > 0 && s.Matches(b.steel) {
			stock = append(stock, b.From)
		}
	}
	plan, short := FirstFit(wants, stock, y.rules.KeepFrom(s.Size))
	for _, p := range plan {
		i := y.find(p.Lot, p.Length)
		y.bars[i].Bars -= p.Bars
		if !p.Keep {
			continue
		}
		if k := y.find(p.Lot, p.Left); k >= 0 {
			y.bars[k].Bars += p.Bars
		} else {
			y.bars = append(y.bars, lying{From{p.Lot, p.Left, p.Bars}, y.bars[i].steel, 0})
		}
	}
	for _, x := range wants {
		if _, ok := y.need[x.Bundle]; ok && x.Pieces > 0 {
			y.out.Asked.add(x)
			y.out.Made.add(x)
		}
	}
	for _, x := range short {
		i, ok := y.need[x.Bundle]
		if !ok {
			continue
		}
		x.Pieces *= -1
		y.out.Made.add(x)
		m, _ := bar.Weigh(s.Size, x.Length*bar.Length(-x.Pieces)) // sizes of lines were checked
		y.short(Short{Steel: s, Length: x.Length, Pieces: -x.Pieces, Mass: m, Truck: w.Needs[i].Truck}, x.Bundle)
	}
}

func (c *Cuts) add(w Want) {
	c.Pieces += w.Pieces
	c.Length += w.Length * bar.Length(w.Pieces)
}

// find finds bars by lot and length: there is one place of each. It is less than 0 when there is none.
func (y *yard) find(lot tags.Number, l bar.Length) int {
	return slices.IndexFunc(y.bars, func(b lying) bool { return b.Lot == lot && b.Length == l })
}

// unroll takes pieces from coil, in order.
func (y *yard) unroll(w Wanted, s bar.Steel, wants []Want) {
	for _, x := range wants {
		each, _ := bar.Weigh(s.Size, x.Length)
		missing, _ := bar.Weigh(s.Size, x.Length*bar.Length(x.Pieces))
		for i := range y.coil {
			if c := &y.coil[i]; s.Matches(c.steel) {
				took := min(missing, c.mass)
				c.mass -= took
				missing -= took
			}
		}
		if i, ok := y.need[x.Bundle]; ok && missing > 0 {
			pieces := x.Pieces
			if each > 0 {
				pieces = int((missing + each - 1) / each)
			}
			y.short(Short{Steel: s, Length: x.Length, Coil: true, Pieces: pieces, Mass: missing, Truck: w.Needs[i].Truck}, x.Bundle)
		}
	}
}

// short books pieces of a bundle with others of their steel and length.
func (y *yard) short(x Short, n tags.Number) {
	i := slices.IndexFunc(y.out.Short, func(o Short) bool { return o.Steel == x.Steel && o.Length == x.Length && o.Coil == x.Coil })
	if i < 0 {
		i, y.out.Short = len(y.out.Short), append(y.out.Short, x)
	} else {
		o := &y.out.Short[i]
		o.Pieces, o.Mass, o.Truck = o.Pieces+x.Pieces, o.Mass+x.Mass, min(o.Truck, x.Truck)
	}
	y.out.Short[i].Bundles = append(y.out.Short[i].Bundles, n)
}

// buy says what would serve what is short.
func (y *yard) buy() {
	slices.SortFunc(y.out.Short, func(a, b Short) int {
		return cmp.Or(bySteel(a.Steel, b.Steel), cmp.Compare(boolean(a.Coil), boolean(b.Coil)), cmp.Compare(b.Length, a.Length))
	})
	var stock []From
	for _, l := range y.rules.Stock {
		stock = append(stock, From{Length: l, Bars: -1})
	}
	for all := y.out.Short; len(all) > 0; {
		first := all[0]
		n := slices.IndexFunc(all, func(o Short) bool { return o.Steel != first.Steel || o.Coil != first.Coil })
		if n < 0 {
			n = len(all)
		}
		var wants []Want
		var mass bar.Mass
		for _, x := range all[:n] {
			wants = append(wants, Want{0, x.Length, x.Pieces})
			mass += x.Mass
		}
		all = all[n:]
		if first.Coil {
			y.out.Buy = append(y.out.Buy, Buy{Steel: first.Steel, Coil: true, Mass: mass})
			continue
		}
		plan, long := FirstFit(wants, stock, 0)
		bars := map[bar.Length]int{}
		for _, p := range plan {
			bars[p.Length] += p.Bars
		}
		for _, s := range stock {
			if bars[s.Length] > 0 {
				m, _ := bar.Weigh(first.Steel.Size, s.Length*bar.Length(bars[s.Length]))
				y.out.Buy = append(y.out.Buy, Buy{Steel: first.Steel, Length: s.Length, Bars: bars[s.Length], Mass: m})
			}
		}
		for _, x := range long {
			y.out.Buy = append(y.out.Buy, Buy{Steel: first.Steel, Length: x.Length, Pieces: x.Pieces})
		}
	}
}

// bySteel orders steels by diameter, then by name.
func bySteel(a, b bar.Steel) int {
	x, _ := a.Size.Row()
	y, _ := b.Size.Row()
	return cmp.Or(cmp.Compare(x.Diameter, y.Diameter), cmp.Compare(a.String(), b.String()))
}
