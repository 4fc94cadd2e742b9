package scan

import (
	"slices"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// Coil is drawn by mass. A run from coil makes one bundle, or a part of one: nothing joins it, and it
// closes with it. What the pieces weigh is worked out once for the run. There are no remnants of coil:
// what is cut off is scrap, when somebody weighs it.

// coils are those of lots that are coil.
func (j *judge) coils(lots []tags.Number) []tags.Number {
	return slices.DeleteFunc(slices.Clone(lots), func(n tags.Number) bool {
		lot, ok := j.past.Lot(n)
		return !ok || !lot.Coil()
	})
}

// saysCoil says whether a person says that coil was cut.
func (j *judge) saysCoil() bool { return len(j.scan.Coils) > 0 || len(j.coils(j.scan.Lots)) > 0 }

// alone says whether a bundle cannot join the run that is open: it is from coil, or the bundle is.
func (j *judge) alone(run Run) bool { return j.saysCoil() || len(j.coils(run.Lots)) > 0 }

// drawnFrom are the lots that a run is cut from as it closes: those that a person says now, else its
// candidates.
func (j *judge) drawnFrom(run Run) (lots []tags.Number, said bool) {
	switch {
	case len(j.scan.Coils) > 0:
		for _, d := range j.scan.Coils {
			lots = append(lots, d.Lot)
		}
		return lots, true
	case len(j.scan.Bars) > 0:
		for _, d := range j.scan.Bars {
			lots = append(lots, d.Lot)
		}
		return lots, true
	case len(j.scan.Lots) > 0:
		return j.scan.Lots, true
	}
	return run.Lots, false
}

// fromCoil says whether a run closes as one from coil.
func (j *judge) fromCoil(run Run) bool {
	lots, _ := j.drawnFrom(run)
	return len(run.Members) == 1 && len(j.coils(lots)) > 0
}

// closeCoil works out what a run drew from coil. What a person weighed stands; what nobody weighed is
// taken from the coils that may have given it, those that were charged last first, as far as the record
// has it, and the rest from the last one.
func (j *judge) closeCoil(a *event.Answer, run Run, l *Line) event.CoilClosed {
	lots, said := j.drawnFrom(run)
	closed := event.CoilClosed{Scrap: j.scan.Scrap}
	m := run.Members[0]
	need, _ := bar.Weigh(run.Steel.Size, m.Length*bar.Length(m.Pieces)) // sizes of lines were checked
	if len(j.scan.Coils) > 0 {
		closed.Draws = slices.Clone(j.scan.Coils)
	} else {
		draw := func(n tags.Number, m bar.Mass) event.MassDraw { return event.MassDraw{Lot: n, Mass: m} }
		closed.Draws = shareOut(j.past, j.byCharge(run, j.coils(lots)), need+closed.Scrap, heat.Lot.MassOnHand, draw)
		closed.Assumed = len(lots) > 1
	}
	var drawn bar.Mass
	for i := range closed.Draws {
		d := &closed.Draws[i]
		lot, _ := j.past.Lot(d.Lot)
		if !run.Steel.Matches(lot.Steel) && !slices.Contains(j.scan.Lots, d.Lot) {
			look(a, "drew other steel", d.Lot, lot.Steel, run.Steel)
		}
		if d.Over = max(0, d.Mass-max(0, lot.MassOnHand())); d.Over > 0 {
			look(a, "coil difference", d.Lot, j.mass(d.Over))
		}
		drawn += d.Mass
	}
	a.Notes = append(a.Notes, note("coil drawn", j.mass(drawn)))
	switch left := drawn - need - closed.Scrap; {
	case left < 0:
		closed.Missing = -left
		look(a, "coil missing", j.mass(-left))
		lots = union(run.Lots, lots...) // what is missing may be of any
	case left > 0:
		closed.Scrap += left
		look(a, "coil left over", j.mass(left))
	}
	if len(j.scan.Remnants) > 0 {
		look(a, "no remnant of coil", title(j.member(m), l))
	}
	if said {
		closed.Lots = lots
	}
	return closed
}

func (j *judge) member(m Member) Bundle {
	b, _ := j.past.Bundle(m.Bundle)
	return b
}

// byCharge orders the coils of a run by their charging: what lies on the feeds now, the newest first, and
// then what is off them.
func (j *judge) byCharge(run Run, coils []tags.Number) []tags.Number {
	var out []tags.Number
	for _, n := range j.past.Floor(run.Station).Lots() {
		if slices.Contains(coils, n) {
			out = append(out, n)
		}
	}
	return union(out, coils...)
}

// typedCoil refuses what cannot be meant of coil as it was typed, and adds up what was typed twice.
func (j *judge) typedCoil() Outcome {
	s := &j.scan
	if len(s.Coils) > mostTyped {
		return j.refuse(0, "too many", len(s.Coils), mostTyped)
	}
	if s.Scrap < 0 || s.Scrap > heat.MostCoil {
		return j.refuse(0, "weight wrong", j.mass(s.Scrap))
	}
	for _, d := range s.Bars {
		if len(j.coils([]tags.Number{d.Lot})) > 0 {
			return j.refuse(0, "is coil", d.Lot)
		}
	}
	var all []event.MassDraw
	for _, d := range s.Coils {
		lot, ok := j.past.Lot(d.Lot)
		switch {
		case !ok || lot.Gone:
			return j.refuse(0, "not known", d.Lot)
		case !lot.Coil():
			return j.refuse(0, "is bars", d.Lot)
		case d.Mass <= 0 || d.Mass > heat.MostCoil:
			return j.refuse(0, "weight wrong", j.mass(d.Mass))
		case len(s.Bars) > 0:
			return j.refuse(0, "bars and coil", s.Bars[0].Lot, d.Lot)
		}
		i := slices.IndexFunc(all, func(o event.MassDraw) bool { return o.Lot == d.Lot })
		if i < 0 {
			i, all = len(all), append(all, event.MassDraw{Lot: d.Lot})
		}
		all[i].Mass += d.Mass
	}
	s.Coils = all
	return Outcome{}
}

// fromCoil plans a card of a bundle that is cut from coil: what to load, and how much of it is needed.
func (c *Card) fromCoil(past Past, floor Floor, lots []tags.Number) {
	steel := c.Line.Steel
	c.Coil = true
	c.Mass, _ = bar.Weigh(steel.Size, c.Line.Length*bar.Length(c.Bundle.ToDo()))
	left := c.Mass
	add := func(l heat.Lot) {
		if !l.Coil() || !l.Any() || !steel.Matches(l.Steel) || left == 0 {
			return
		}
		take := min(left, l.MassOnHand())
		left -= take
		br := bring(past, floor, l)
		br.Mass = take
		c.Bring = append(c.Bring, br)
	}
	for _, n := range lots {
		if l, ok := past.Lot(n); ok {
			add(l)
		}
	}
	seen := 0
	past.LotsOf(steel, func(l heat.Lot) bool {
		if l.Coil() {
			add(l)
			seen++
		}
		return left > 0 && seen < mostLots
	})
	c.Lacking = left
}
