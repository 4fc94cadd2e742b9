package pages

import (
	"cmp"
	"slices"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/export"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// loadoutPart is what a station that loads or stages shows: the load that is open at the device, else those
// that are due; and the lanes.
type loadoutPart struct {
	Load            *load.Load // open, and here
	Left            *load.Load // open, and left
	Names           []string   // of the jobs
	OneJob          bool       // all stops are of one
	Sums            scan.Sums
	On              scan.Sum // what lies on it, as it was weighed when it went on
	Free            bar.Mass // to the limit; less than 0 is over it
	Bar             gaugeBar
	Stops           []dockStop // the last one, which goes on first, first
	Missing         []scan.Reached
	Last            []scan.Reached // what went on, the newest first
	Hold            *heat.Hold
	Held            int
	Longest, Widest scan.Sized

	Leave bool         // the page asks whether it leaves
	Due   []scan.Truck // that wait, where none is open
	Lanes []laneLoad
}

// dockStop is a stop of the open load.
type dockStop struct {
	load.Stop
	Nth  int
	Name string
	On   int
	All  int
	Next bool // what is missing for it goes on now
}

// laneLoad is a load that is staged: stop by stop, the last one first.
type laneLoad struct {
	scan.Truck
	Stops []laneStop
}

type laneStop struct {
	dockStop
	Lanes []string       // in which its bundles lie
	Fetch []scan.Reached // what is ready and lies elsewhere, in the order of the places
	Later int            // what is not ready yet
}

// gaugeBar is a load against its limit, in a box 1000 wide: solid is on, dashed is missing.
type gaugeBar struct{ On, Missing, Limit int }

// drawGauge draws a load to the scale of its limit, or of all that is meant for it.
func drawGauge(on, missing, limit bar.Mass) gaugeBar {
	full := float64(max(limit, on+missing, 1))
	at := func(m bar.Mass) int { return int(float64(m) / full * 997) }
	g := gaugeBar{On: at(on), Missing: max(0, at(on+missing)-at(on)-2)}
	if limit > 0 {
		g.Limit = at(limit)
	}
	return g
}

// Bounds of what a page of a dock lists.
const (
	mostLast  = 8
	mostDue   = 6
	mostLanes = 3
)

// dock is what the station shows with the load that is open at the device.
func (p *pages) dock(past *view.Past, st scan.Station, n tags.Number, leave bool) *loadoutPart {
	d := &loadoutPart{Leave: leave}
	rules := p.floor.Rules()
	if l, ok := past.Load(n); ok && n != 0 && l.Shipped == 0 {
		d.Load = &l
		p.aboard(past, d)
		return d
	} else if ok && n != 0 {
		d.Left = &l
	}
	trucks := scan.Trucks(past, rules)
	if st.Can(scan.Loadout) {
		d.Due = trucks[:min(len(trucks), mostDue)]
	}
	if !st.Can(scan.Staging) {
		return d
	}
	for _, t := range trucks {
		if t.Planned > 0 && len(d.Lanes) < mostLanes {
			d.Lanes = append(d.Lanes, p.lanes(past, t))
		}
	}
	return d
}

// aboard tells of the open load what is on, what is missing, and where that lies.
func (p *pages) aboard(past *view.Past, d *loadoutPart) {
	l := *d.Load
	all := scan.ReachOf(past, p.floor.Rules(), l)
	var each []scan.Sums
	d.Sums, each = scan.SumUp(all, len(l.Stops))
	d.On = scan.Sum{Bundles: l.Count, Mass: l.Mass}
	d.Free = l.Limit - l.Mass
	d.Bar = drawGauge(l.Mass, d.Sums.Missing().Mass, l.Limit)
	d.Missing = byPlace(all)
	for _, r := range all {
		if r.Reach == scan.IsLoaded {
			d.Last = append(d.Last, r)
		} else if r.Held != nil {
			d.Held++
		}
	}
	slices.SortFunc(d.Last, func(a, b scan.Reached) int { return cmp.Compare(newest(b.Bundle), newest(a.Bundle)) })
	var bundles []tags.Number
	for _, r := range all {
		bundles = append(bundles, r.Bundle.Number)
	}
	d.Longest, d.Widest = scan.Extent(past, bundles)
	d.Last = d.Last[:min(len(d.Last), mostLast)]
	d.Stops = p.dockStops(past, l, each)
	d.OneJob = len(l.Jobs()) < 2
	for _, s := range d.Stops {
		if s.Name != "" && !slices.Contains(d.Names, s.Name) {
			d.Names = append(d.Names, s.Name)
		}
	}
	if h, held := past.Hold(event.Target{Number: l.Number}); held {
		d.Hold = &h
	}
}

// newest is the sequence of a bundle's newest progress.
func newest(b scan.Bundle) uint64 {
	if len(b.Progress) == 0 {
		return 0
	}
	return b.Progress[len(b.Progress)-1]
}

// dockStops are the stops of a load in the order in which they are loaded: the last one first.
func (p *pages) dockStops(past *view.Past, l load.Load, each []scan.Sums) (out []dockStop) {
	next := true
	for i := len(l.Stops) - 1; i >= 0; i-- {
		s := dockStop{Stop: l.Stops[i], Nth: i + 1, On: each[i][scan.IsLoaded].Bundles, All: each[i].All().Bundles}
		job, _ := past.Job(s.Job)
		s.Name = cmp.Or(job.Name, s.Processor)
		if s.On < s.All && next {
			s.Next, next = true, false
		}
		out = append(out, s)
	}
	return out
}

// lanes tells of a load how far it is staged, and what is to be fetched for it.
func (p *pages) lanes(past *view.Past, t scan.Truck) laneLoad {
	out := laneLoad{Truck: t}
	all := scan.ReachOf(past, p.floor.Rules(), t.Load)
	_, each := scan.SumUp(all, len(t.Load.Stops))
	for _, s := range p.dockStops(past, t.Load, each) {
		one := laneStop{dockStop: s}
		one.On = 0
		for _, r := range byPlace(all) {
			switch {
			case r.Stop != s.Nth-1:
			case r.Reach == scan.IsStaged:
				one.On++
				if !slices.Contains(one.Lanes, r.Place) {
					one.Lanes = append(one.Lanes, r.Place)
				}
			case r.Reach == scan.IsMade:
				one.Fetch = append(one.Fetch, r)
			default:
				one.Later++
			}
		}
		one.On += each[s.Nth-1][scan.IsLoaded].Bundles
		out.Stops = append(out.Stops, one)
	}
	return out
}

// byPlace are the bundles that are not on the truck yet, in the order in which somebody fetches them: by the
// place where they lie, there by the stop, the last one first, and at the end what is not cut yet, or lies nobody
// knows where.
func byPlace(all []scan.Reached) (out []scan.Reached) {
	for _, r := range all {
		if r.Reach != scan.IsLoaded {
			out = append(out, r)
		}
	}
	slices.SortStableFunc(out, func(a, b scan.Reached) int {
		if (a.Place == "") != (b.Place == "") {
			return strings.Compare(b.Place, a.Place)
		}
		return cmp.Or(export.Natural(a.Place, b.Place), cmp.Compare(b.Stop, a.Stop))
	})
	return out
}
