package view

import (
	"encoding/binary"
	"slices"

	"tagd/internal/event"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// ToPlan finds a bundle as a plan of a load asks for it.
func (p *Past) ToPlan(n tags.Number) (load.Bundle, bool) {
	b, ok := p.Bundle(n)
	if !ok {
		return load.Bundle{}, false
	}
	return p.toPlan(b, p.Line(b.Line)), true
}

func (p *Past) toPlan(b scan.Bundle, l *scan.Line) load.Bundle {
	out := load.Bundle{
		Number: b.Number, Line: load.Line{Job: l.Job, List: l.List, Mark: l.Mark},
		Gone: p.Left(b.Number), On: b.Load, Load: b.Planned,
	}
	if b.Planned != 0 {
		s, _ := p.Spot(b.Planned, b.Number)
		out.Stop = s.Stop
	}
	return out
}

// ToPlanOf are the bundles of a line, or with Mark "" of a whole list.
func (p *Past) ToPlanOf(of load.Line) (out []load.Bundle) {
	lines := []*scan.Line{}
	if of.Mark == "" && of.List != "" {
		lines = p.LinesOf(of.Job, of.List)
	} else if l, ok := p.LineOf(of.Job, of.List, of.Mark); ok {
		lines = append(lines, l)
	}
	for _, l := range lines {
		for _, b := range p.BundlesOf(l) {
			out = append(out, p.toPlan(b, l))
		}
	}
	return out
}

// Spot is where on a load a bundle is planned.
func (p *Past) Spot(on, n tags.Number) (load.Spot, bool) {
	v := p.tx.Get(tPlanned, twoKey(uint64(on), uint64(n)))
	if len(v) != 6 {
		return load.Spot{Bundle: n}, false
	}
	return spot(n, v), true
}

func spot(n tags.Number, v []byte) load.Spot {
	return load.Spot{Bundle: n, Stop: int(binary.BigEndian.Uint16(v)), At: int(binary.BigEndian.Uint32(v[2:]))}
}

// Spots are the bundles that are planned on a load, stop by stop in the order of its plan.
func (p *Past) Spots(on tags.Number) (out []load.Spot) {
	p.prefix(tPlanned, numKey(on), func(rest, v []byte) bool {
		out = append(out, spot(tags.Number(binary.BigEndian.Uint64(rest)), v))
		return true
	})
	slices.SortFunc(out, load.Spot.Compare)
	return out
}

// PlannedOn are the bundles that are planned on a load, in the order of its plan.
func (p *Past) PlannedOn(on tags.Number) (out []tags.Number) {
	for _, s := range p.Spots(on) {
		out = append(out, s.Bundle)
	}
	return out
}

// LoadPlan is the plan of a load that has not left, as it was stated last and with what followed.
func (p *Past) LoadPlan(n tags.Number) (event.LoadSet, bool) {
	l, ok := p.Load(n)
	e := event.LoadSet{Load: n, Date: l.Date, Leaves: l.Leaves, Truck: l.Truck, Trailer: l.Trailer, Limit: l.Limit}
	for _, s := range l.Stops {
		e.Stops = append(e.Stops, event.LoadStop{Job: s.Job, ShipTo: s.ShipTo, Contact: s.Contact, From: s.From, Until: s.Until, Processor: s.Processor, Step: s.Step})
	}
	for _, s := range p.Spots(n) {
		e.Stops[s.Stop].Bundles = append(e.Stops[s.Stop].Bundles, s.Bundle)
	}
	return e, ok && l.Shipped == 0
}

// StopOf is the stop of a load, from 0, to which a bundle goes, or went before it came back: where it is
// planned, else the first one for its job; less than 0 when there is none.
func (p *Past) StopOf(l load.Load, b scan.Bundle) int {
	if b.Load != l.Number {
		if v := p.tx.Get(tBack, twoKey(uint64(l.Number), uint64(b.Number))); len(v) == 14 {
			return int(binary.BigEndian.Uint16(v[4:])) - 1
		}
	}
	if b.Planned == l.Number {
		if s, ok := p.Spot(l.Number, b.Number); ok && s.Stop < len(l.Stops) {
			return s.Stop
		}
	}
	return l.Stop(p.Line(b.Line).Job)
}

// LoadsHere calls f for each load that has not left until f returns false.
func (p *Past) LoadsHere(f func(load.Load) bool) {
	p.each(tHere, func(k, _ []byte) bool {
		l, ok := p.Load(tags.Number(binary.BigEndian.Uint64(k)))
		return !ok || f(l)
	})
}

// planned plans a bundle at a spot of a load, and takes it off the load that it was planned on; load 0 only
// takes it off. It changes no row of a bundle.
func (a *apply) planned(from, to tags.Number, s load.Spot) {
	if from != 0 && from != to {
		a.del(tPlanned, twoKey(uint64(from), uint64(s.Bundle)))
		a.load(from, func(l *load.Load) { l.Planned-- })
	}
	if to == 0 {
		return
	}
	v := binary.BigEndian.AppendUint16(nil, uint16(s.Stop))
	a.raw(tPlanned, twoKey(uint64(to), uint64(s.Bundle)), binary.BigEndian.AppendUint32(v, uint32(s.At)))
	if from != to {
		a.load(to, func(l *load.Load) { l.Planned++ })
	}
}

// unplan takes a bundle off the list of the load that it is planned on.
func (a *apply) unplan(x scan.Bundle) { a.planned(x.Planned, 0, load.Spot{Bundle: x.Number}) }

// planSet states the plan of a load anew.
func (a *apply) planSet(e event.LoadSet) {
	l, old := a.Load(e.Load)
	if !old {
		l.Number = e.Load
		a.taken(e.Load)
		a.raw(tHere, numKey(e.Load), nil)
	}
	l.Date, l.Leaves, l.Truck, l.Trailer, l.Limit, l.Stops = e.Date, e.Leaves, e.Truck, e.Trailer, e.Limit, nil
	for _, s := range e.Stops {
		l.Stops = append(l.Stops, load.Stop{Job: s.Job, ShipTo: s.ShipTo, Contact: s.Contact, From: s.From, Until: s.Until, Processor: s.Processor, Step: s.Step})
	}
	a.putLoad(l)
	a.history(e.Load)
	was := map[tags.Number]load.Spot{}
	for _, s := range a.Spots(e.Load) {
		was[s.Bundle] = s
	}
	for i, s := range e.Stops {
		for at, n := range s.Bundles {
			b, ok := a.Bundle(n)
			if !ok {
				a.missing(n)
				continue
			}
			if o, on := was[n]; !on || o.Stop != i {
				a.bundle(n, func(x *scan.Bundle) {
					if x.Planned = e.Load; x.Staged() != e.Load {
						unstage(x)
					}
				})
			}
			if b.Planned != 0 && b.Planned != e.Load {
				a.history(b.Planned)
			}
			a.planned(b.Planned, e.Load, load.Spot{Bundle: n, Stop: i, At: at})
			delete(was, n)
		}
	}
	for _, s := range was {
		a.bundle(s.Bundle, func(x *scan.Bundle) {
			unstage(x)
			x.Planned = 0
		})
		a.planned(e.Load, 0, s)
	}
}

// stops is a plan as it was written before it said the stop of each bundle: a bundle belongs to the
// first stop that is for its job.
func (a *apply) stops(e event.LoadPlanned) event.LoadSet {
	set := event.LoadSet{Load: e.Load, Date: e.Date, Truck: e.Truck, Limit: e.Limit}
	for _, s := range e.Stops {
		set.Stops = append(set.Stops, event.LoadStop{Job: s.Job, ShipTo: s.ShipTo})
	}
	for _, n := range e.Bundles {
		b, ok := a.Bundle(n)
		if !ok {
			a.missing(n)
			continue
		}
		job := a.Line(b.Line).Job
		at := max(0, slices.IndexFunc(e.Stops, func(s event.Stop) bool { return s.Job == job }))
		set.Stops[at].Bundles = append(set.Stops[at].Bundles, n)
	}
	return set
}
