package scan

import (
	"cmp"
	"slices"
	"time"

	"tagd/internal/bar"
	"tagd/internal/load"
)

// # What the trucks need
//
// The planned loads that have not left drive the shop. Their bundles that still have steps to be done are
// wanted in this order: by the moment at which the truck leaves, then by its number; within a truck in
// the order in which it is loaded, which is the last stop first; within a stop as it was planned, then by
// number. Loads without a date come last. What is ready, lies on a truck, or is voided needs nothing.
// What goes to a processor needs no more here than the steps before those that are done there.

// NeedsPast is what the needs of the trucks are read from.
type NeedsPast interface {
	Past
	// LoadsHere calls f for each load that has not left until f returns false.
	LoadsHere(f func(load.Load) bool)
}

// Truck is a planned load that has not left.
type Truck struct {
	load.Load
	Leaves time.Time // zero: its plan names no day
	Said   bool      // the plan says the time; else it is the end of the day's last shift
	// Of the bundles that are planned on it: how many lie on it or are ready, and how many are needed.
	Ready, Waiting int
}

// Need is a bundle that a truck needs and that still has steps to be done.
type Need struct {
	Bundle Bundle
	Line   *Line
	Truck  int // in the order of the trucks
	Stop   int // of the truck, from 0
	Held   bool
	Here   int // steps of its route that are done before it goes
}

// Steps are those still to be done here.
func (n Need) Steps() []string { return n.Bundle.Steps(n.Line)[n.Bundle.Done:n.Here] }

// Pieces is how many are still to be done of the first of them.
func (n Need) Pieces() int { return n.Bundle.ToDo() }

// At says whether a station can do the next step: it does such steps, and no other one has begun it.
func (n Need) At(st Station) bool {
	return st.Can(Work(n.Steps()[0])) && (!n.Bundle.Started || n.Bundle.Station == st.Name)
}

// Later says whether a station does a step of it after the next one.
func (n Need) Later(st Station) bool {
	return slices.ContainsFunc(n.Steps()[1:], func(s string) bool { return st.Can(Work(s)) })
}

// Draws is how many pieces are still to be taken from stock, and whether that is coil.
func (n Need) Draws() (pieces int, coil bool) {
	step := n.Bundle.DrawStep(n.Line)
	switch at := firstDraw(n.Bundle.Steps(n.Line)); {
	case at < n.Bundle.Done:
		return 0, false
	case at == n.Bundle.Done:
		return n.Bundle.ToDo(), step == CutAndBend
	}
	return n.Bundle.Pieces, step == CutAndBend // another step comes before
}

// Wanted are the trucks and what they need, each in order.
type Wanted struct {
	Trucks []Truck
	Needs  []Need
}

// Trucks are the planned loads that have not left, in the order in which they leave.
func Trucks(past NeedsPast, rules Rules) []Truck {
	var out []Truck
	past.LoadsHere(func(l load.Load) bool {
		t := Truck{Load: l}
		t.Leaves, t.Said = l.Leaving(rules.Calendar)
		out = append(out, t)
		return true
	})
	slices.SortFunc(out, func(a, b Truck) int {
		if a.Leaves.IsZero() != b.Leaves.IsZero() {
			return cmp.Compare(boolean(a.Leaves.IsZero()), boolean(b.Leaves.IsZero()))
		}
		return cmp.Or(a.Leaves.Compare(b.Leaves), cmp.Compare(a.Number, b.Number))
	})
	return out
}

func boolean(b bool) int {
	if b {
		return 1
	}
	return 0
}

// Needs is what the trucks need, whole.
func Needs(past NeedsPast, rules Rules) Wanted {
	w := Wanted{Trucks: Trucks(past, rules)}
	for i := range w.Trucks {
		t := &w.Trucks[i]
		needs(past, rules, i, t, func(n Need) bool {
			w.Needs = append(w.Needs, n)
			t.Waiting++
			return true
		})
	}
	return w
}

// NeedsAt are the first of what can be done at a station now, most of them at the most.
func NeedsAt(past NeedsPast, rules Rules, st Station, most int) (w Wanted) {
	if !slices.ContainsFunc(st.Does, func(d Work) bool { return slices.Contains(Steps, Step(d)) }) {
		return w
	}
	w.Trucks = Trucks(past, rules)
	for i := range w.Trucks {
		needs(past, rules, i, &w.Trucks[i], func(n Need) bool {
			if n.At(st) {
				w.Needs = append(w.Needs, n)
			}
			return len(w.Needs) < most
		})
		if len(w.Needs) == most {
			break
		}
	}
	return w
}

// needs calls f for what a truck needs, in order, until f returns false, and counts what is ready.
func needs(past NeedsPast, rules Rules, i int, t *Truck, f func(Need) bool) {
	if t.Planned == 0 {
		return
	}
	spots := past.Spots(t.Number)
	slices.SortFunc(spots, func(a, b load.Spot) int {
		if a.Stop != b.Stop {
			return b.Stop - a.Stop
		}
		return a.Compare(b)
	})
	j := &judge{past: past, rules: rules}
	for _, s := range spots {
		b, _ := past.Bundle(s.Bundle)
		l := past.Line(b.Line)
		n := Need{Bundle: b, Line: l, Truck: i, Stop: s.Stop, Here: len(b.Steps(l))}
		if s.Stop < len(t.Stops) {
			n.Here = j.stepsHere(t.Stops[s.Stop], b, l)
		}
		if b.Voided || b.Load != 0 || b.Done >= n.Here {
			t.Ready++
			continue
		}
		_, n.Held = j.held(b, Drawn(past, b))
		if !f(n) {
			return
		}
	}
}

// Waiting is the need as a forecast asks for it.
func (w Wanted) Waiting(n Need) load.Waiting {
	out := load.Waiting{
		Bundle: n.Bundle.Number, Load: w.Trucks[n.Truck].Number, Leaves: w.Trucks[n.Truck].Leaves,
		Steps: n.Steps(), Pieces: n.Pieces(), All: n.Bundle.Pieces, Class: ClassOf(n.Line.Steel.Size),
	}
	if n.Bundle.Started {
		out.At = n.Bundle.Station
	}
	return out
}

// Foresee says of each need when its bundle will be ready, and whether it makes its truck.
func (w Wanted) Foresee(now time.Time, rules Rules, r *load.Records) []load.Forecast {
	var benches []load.Bench
	for _, st := range rules.Stations {
		b := load.Bench{Station: st.Name}
		for _, d := range st.Does {
			if slices.Contains(Steps, Step(d)) {
				b.Does = append(b.Does, string(d))
			}
		}
		if len(b.Does) > 0 {
			benches = append(benches, b)
		}
	}
	waiting := make([]load.Waiting, 0, len(w.Needs))
	for _, n := range w.Needs {
		waiting = append(waiting, w.Waiting(n))
	}
	return load.Foresee(now, rules.Calendar, r, benches, waiting)
}

// ClassOf is the class of a size of bar by its nominal diameter.
func ClassOf(s bar.Size) load.Class {
	row, _ := s.Row() // sizes of lines were checked
	return load.ClassOf(row.Diameter.MM())
}
