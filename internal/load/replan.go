package load

import (
	"slices"

	"tagd/internal/event"
	"tagd/internal/tags"
)

// Restate is the plan of a load as it stands, to be changed and stated anew.
func Restate(e event.LoadSet) Plan {
	p := Plan{Load: e.Load, Date: e.Date, Leaves: e.Leaves, Truck: e.Truck, Trailer: e.Trailer, Limit: e.Limit}
	for _, s := range e.Stops {
		p.Stops = append(p.Stops, StopPlan{
			Stop:    Stop{Job: s.Job, ShipTo: s.ShipTo, Contact: s.Contact, From: s.From, Until: s.Until, Processor: s.Processor, Step: s.Step},
			Bundles: s.Bundles,
		})
	}
	return p
}

// Off takes bundles off the plan.
func (p *Plan) Off(bundles []tags.Number) {
	for i := range p.Stops {
		s := &p.Stops[i]
		s.Bundles = slices.DeleteFunc(slices.Clone(s.Bundles), func(n tags.Number) bool { return slices.Contains(bundles, n) })
	}
}

// Put plans bundles and lines for a stop, from 0, behind what is planned for it: from whatever stop of this load
// the bundles stood at.
func (p *Plan) Put(stop int, bundles []tags.Number, lines []Line) error {
	if err := p.has(stop); err != nil {
		return err
	}
	p.Off(bundles)
	s := &p.Stops[stop]
	s.Bundles = append(s.Bundles, bundles...)
	s.Lines = append(s.Lines, lines...)
	return nil
}

// Swap changes the order of two stops, from 0, with all that is planned for them.
func (p *Plan) Swap(a, b int) error {
	for _, i := range []int{a, b} {
		if err := p.has(i); err != nil {
			return err
		}
	}
	p.Stops[a], p.Stops[b] = p.Stops[b], p.Stops[a]
	return nil
}

// Drop takes a stop, from 0, out of the plan, with all that is planned for it.
func (p *Plan) Drop(stop int) error {
	if err := p.has(stop); err != nil {
		return err
	}
	p.Stops = slices.Delete(p.Stops, stop, stop+1)
	return nil
}

func (p *Plan) has(stop int) error {
	if stop < 0 || stop >= len(p.Stops) {
		return refusal("stop", "%d is none of the %d stops", stop+1, len(p.Stops))
	}
	return nil
}
