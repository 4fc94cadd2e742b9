package barlist

import (
	"fmt"
	"slices"
	"strconv"
	"unicode/utf8"

	"tagd/internal/event"
	"tagd/internal/tags"
)

// decided records what was decided about a begun bundle, and does it.
func (t *taking) decided(c *Change, a Ask, revision string) {
	if a.Decided == "" {
		return // only looked at
	}
	if a.Reason == "" {
		a.Reason = "revision " + revision + " of list " + c.List
		if revision == "" {
			a.Reason = "taken into list " + c.List
		}
	}
	t.Events = append(t.Events, event.LineDecided{Line: a.Line, Bundle: a.Number, Fate: a.Decided, Reason: a.Reason})
	switch a.Decided {
	case event.Scrap:
		t.Events = append(t.Events, event.PiecesLost{Bundle: a.Number, Pieces: a.Pieces, Why: event.Revised, Note: a.Reason})
	case event.ToStock:
		t.Events = append(t.Events, event.BundleReassigned{Bundle: a.Number, Line: t.stockLine(a), Reason: a.Reason})
	}
}

// surplusList is the list of the shop's own stock that has what revisions left over.
const surplusList = "surplus"

type surplusLine struct {
	seq  uint64
	line event.LineTaken
}

// stockLine is the line of the shop's own stock for the pieces of a bundle: one that is there for the
// same things, or a new one that comes before the event that needs it.
func (t *taking) stockLine(a Ask) uint64 {
	job, _ := t.past.StockJob()
	from := a.Made.Job + "/" + a.Made.List + "/" + a.Made.Mark
	base := from
	if utf8.RuneCountInString(base) > longest["mark"]-4 {
		base = a.Made.Mark
	}
	for i := 1; ; i++ {
		mark := base
		if i > 1 {
			room := longest["mark"] - 1 - len(strconv.Itoa(i))
			runes := []rune(base)
			mark = string(runes[:min(len(runes), room)]) + " " + strconv.Itoa(i)
		}
		l, ok := t.surplus[mark]
		if !ok {
			l.line, l.seq, ok = t.past.Surplus(job, surplusList, mark)
		}
		if !ok {
			l.line = a.Made
			l.line.Job, l.line.List, l.line.Mark, l.line.Note = job, surplusList, mark, "of "+from
			l.line.Row, l.line.First, l.line.Bundles, l.line.Pieces = 0, 0, nil, a.Pieces
			l.seq = t.past.Head() + 1 + uint64(len(t.Events))
			t.Events = append(t.Events, l.line)
		} else if !alike(l.line, a.Made) {
			continue
		}
		if t.surplus == nil {
			t.surplus = map[string]surplusLine{}
		}
		t.surplus[mark] = l
		return l.seq
	}
}

// trucks are the loads on which bundles were planned that are no more, and what comes in their place.
type trucks struct {
	loads []*truck
	marks map[string][]*truckRoom
}

type truck struct {
	load tags.Number
	off  []event.WasPlanned
	on   map[int][]tags.Number // by stop, from 0
}

// truckRoom is how many pieces of a mark a truck has lost at a stop.
type truckRoom struct {
	*truck
	stop   int
	pieces int
}

// leave notes the planned bundles of a mark that will not go onto their truck any more.
func (t *trucks) leave(c *Change) {
	stays := c.stay(c.Stays)
	for _, b := range c.Bundles {
		gone := b.State == NotBegun && !slices.ContainsFunc(stays, func(s Tied) bool { return s.Number == b.Number })
		for _, a := range c.Asked {
			if a.Number == b.Number && (a.Decided == event.Scrap || a.Decided == event.ToStock) {
				gone = true
			}
		}
		if !gone || b.Planned == 0 {
			continue
		}
		i := slices.IndexFunc(t.loads, func(o *truck) bool { return o.load == b.Planned })
		if i < 0 {
			i, t.loads = len(t.loads), append(t.loads, &truck{load: b.Planned, on: map[int][]tags.Number{}})
		}
		on := t.loads[i]
		on.off = append(on.off, event.WasPlanned{Bundle: b.Number, Load: b.Planned, Stop: b.Stop + 1})
		if t.marks == nil {
			t.marks = map[string][]*truckRoom{}
		}
		rooms := t.marks[c.Mark]
		if n := len(rooms); n > 0 && rooms[n-1].truck == on && rooms[n-1].stop == b.Stop {
			rooms[n-1].pieces += b.Pieces
		} else {
			t.marks[c.Mark] = append(rooms, &truckRoom{on, b.Stop, b.Pieces})
		}
	}
}

// enter puts the new bundles of a mark in the place of those that left, at the same stop, while pieces last.
func (t *trucks) enter(c *Change, made event.LineTaken) {
	rooms := t.marks[c.Mark]
	for i, n := range made.Numbers() {
		for len(rooms) > 0 && rooms[0].pieces <= 0 {
			rooms = rooms[1:]
		}
		if len(rooms) == 0 {
			return
		}
		rooms[0].on[rooms[0].stop] = append(rooms[0].on[rooms[0].stop], n)
		rooms[0].pieces -= made.Bundles[i]
	}
}

// plan states anew the plans of trucks that get other bundles.
func (t *taking) plan(all trucks) {
	for _, truck := range all.loads {
		p, ok := t.past.LoadPlan(truck.load)
		if !ok || len(truck.on) == 0 {
			continue
		}
		fresh := 0
		p.Was = truck.off
		p.Stops = slices.Clone(p.Stops)
		for i := range p.Stops {
			stop := &p.Stops[i]
			stop.Bundles = append(slices.DeleteFunc(slices.Clone(stop.Bundles), func(n tags.Number) bool {
				return slices.ContainsFunc(truck.off, func(o event.WasPlanned) bool { return o.Bundle == n })
			}), truck.on[i]...)
			for _, n := range truck.on[i] {
				p.Was = append(p.Was, event.WasPlanned{Bundle: n})
				fresh++
			}
		}
		t.Events = append(t.Events, p)
		t.Says = append(t.Says, fmt.Sprintf("load %v is planned anew: %s in place of %s", truck.load, several(fresh, "new bundle"), several(len(truck.off), "bundle")))
	}
}

func several(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + one + "s"
}
