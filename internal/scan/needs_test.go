package scan_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

func (p *past) LoadsHere(f func(load.Load) bool) {
	for _, l := range p.loads {
		if l.Shipped == 0 && !f(l) {
			return
		}
	}
}

func (p *past) Spots(n tags.Number) []load.Spot { return slices.Clone(p.spots[n]) }

// plan plans bundles at a stop of a load, from 0, after those that are planned there.
func (p *past) plan(n tags.Number, stop int, bundles ...tags.Number) {
	l := p.loads[n]
	l.Number = n
	for _, b := range bundles {
		p.spots[n] = append(p.spots[n], load.Spot{Bundle: b, Stop: stop, At: len(p.spots[n])})
		p.change(b, func(x *scan.Bundle) { x.Planned = n })
		l.Planned++
	}
	slices.SortFunc(p.spots[n], load.Spot.Compare)
	p.loads[n] = l
}

func (p *past) departs(n tags.Number, date, at string) {
	l := p.loads[n]
	l.Number, l.Date, l.Leaves = n, date, at
	p.loads[n] = l
}

// withShift is a plant that works on 2026-11-25, a Wednesday, until 15:00.
func withShift() scan.Rules {
	r := rules()
	r.Calendar = load.Calendar{Zone: time.UTC, Shifts: []load.Shift{{Days: []time.Weekday{time.Wednesday}, From: 7 * time.Hour, To: 15 * time.Hour}}}
	r.Stations = append(r.Stations, scan.Station{Name: "C1", Title: "Stirrups", Does: []scan.Work{"cut and bend"}, Feeds: []string{"A"}})
	return r
}

func serials(w scan.Wanted) (out []int) {
	for _, n := range w.Needs {
		out = append(out, n.Bundle.Number.Serial())
	}
	return out
}

// TestNeeds: the order of what is wanted, and what needs nothing.
func TestNeeds(t *testing.T) {
	truck3, truck4 := number(tags.Load, 3), number(tags.Load, 4)
	p := shop()
	p.plan(truck, 0, bundle(12), bundle(11))  // leaves at the end of the shift
	p.plan(truck, 1, bundle(22), bundle(21))  // the last stop goes on first
	p.plan(truck2, 0, bundle(51), bundle(31)) // leaves before
	p.plan(truck3, 0, bundle(52))             // nobody knows when
	p.plan(truck4, 0, bundle(32))             // has left
	p.departs(truck, "2026-11-25", "")
	p.departs(truck2, "2026-11-25", "14:59")
	p.ready(bundle(21))
	p.hold(event.Target{Number: bundle(31)})
	l := p.loads[truck4]
	l.Shipped = 1
	p.loads[truck4] = l

	w := scan.Needs(p, withShift())
	require.Equal(t, []int{51, 31, 22, 12, 11, 52}, serials(w))
	require.Equal(t, []bool{false, true, false, false, false, false}, []bool{w.Needs[0].Held, w.Needs[1].Held, w.Needs[2].Held, w.Needs[3].Held, w.Needs[4].Held, w.Needs[5].Held})
	var trucks [][]any
	for _, x := range w.Trucks {
		trucks = append(trucks, []any{x.Number.Serial(), x.Said, x.Leaves.Format("15:04"), x.Ready, x.Waiting})
	}
	require.Equal(t, [][]any{{2, true, "14:59", 0, 2}, {1, false, "15:00", 1, 3}, {3, false, "00:00", 0, 1}}, trucks)
	require.True(t, w.Trucks[2].Leaves.IsZero())

	// A bundle that is begun waits at its station only; one that is cut waits at the benders.
	p.run("S2", []int{1}, bundle(12))
	p.done("S1", []int{1}, bundle(11))
	rules := withShift()
	at := func(station string, most int) []int {
		st, _ := rules.Station(station)
		return serials(scan.NeedsAt(p, rules, st, most))
	}
	require.Equal(t, []int{51, 31, 22, 52}, at("S1", 10))
	require.Equal(t, []int{51, 31}, at("S1", 2))
	require.Equal(t, []int{51, 31, 22, 12, 52}, at("S2", 10))
	require.Equal(t, []int{11}, at("B1", 10))
	require.Empty(t, at("L1", 10))
	b1, _ := rules.Station("B1")
	for _, n := range scan.Needs(p, rules).Needs {
		require.Equal(t, n.Bundle.Number == bundle(12), n.Later(b1), "%v", n.Bundle.Number)
	}

	// Voided, lying on a truck, part done.
	p.change(bundle(22), func(b *scan.Bundle) { b.Voided = true })
	p.onto(truck, bundle(51), false)
	p.change(bundle(52), func(b *scan.Bundle) { b.Made = 5 })
	w = scan.Needs(p, rules)
	require.Equal(t, []int{31, 12, 11, 52}, serials(w))
	require.Equal(t, 7, w.Needs[3].Pieces())
}

// TestForeseeNeeds: a forecast is asked for what is waiting, with the station that has begun it.
func TestForeseeNeeds(t *testing.T) {
	p := shop()
	p.plan(truck, 0, bundle(11), bundle(12))
	p.departs(truck, "2026-11-25", "10:00")
	p.run("S2", []int{1}, bundle(12))
	w := scan.Needs(p, withShift())
	require.Equal(t, load.Waiting{
		Bundle: bundle(12), Load: truck, Leaves: time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC), Steps: []string{"cut", "bend"}, At: "S2",
		Pieces: 12, All: 12, Class: load.Light,
	}, w.Waiting(w.Needs[1]))
	require.Empty(t, w.Waiting(w.Needs[0]).At)
	f := w.Foresee(time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC), withShift(), &load.Records{})
	require.Equal(t, load.NoForecast, f[0].Chance)
	require.Equal(t, load.Kind{Station: "S1", Step: "cut", Class: load.Light}, f[0].Lacks)
	require.Equal(t, load.Heavy, scan.ClassOf("#11"))
}

// TestShortage: worked by hand on bars of 60'. #5 weighs 1.043 lb/ft (ASTM A615 Table 1).
func TestShortage(t *testing.T) {
	only := func(bars int, lots ...int) func(*past) { // of the lots, so many bars; of others none
		return func(p *past) {
			for n := 1; n <= 5; n++ {
				p.lot(n, func(l *heat.Lot) {
					if l.Received = 0; slices.Contains(lots, n) {
						l.Received = bars
					}
				})
			}
		}
	}
	first := func(p *past) { p.plan(truck, 0, bundle(11), bundle(21)); p.departs(truck, "2026-11-25", "") }
	second := func(p *past) { p.plan(truck2, 0, bundle(22)); p.departs(truck2, "2026-11-25", "16:00") }
	for name, c := range map[string]struct {
		past   []func(*past)
		short  []string
		buy    []string
		wanted scan.Cuts
		made   scan.Cuts
	}{
		// 12 of 20' are four bars, 12 of 10' two.
		"all on hand": {[]func(*past){first, only(6, 1)}, nil, nil, scan.Cuts{24, 360 * bar.Foot}, scan.Cuts{24, 360 * bar.Foot}},
		"one bar too few": {[]func(*past){first, only(5, 1)}, []string{"#5 A615 60 10'-0\" x 6 of [11] truck 0"}, []string{"1 of 60'-0\""},
			scan.Cuts{24, 360 * bar.Foot}, scan.Cuts{18, 300 * bar.Foot}},
		"nothing on hand": {[]func(*past){first, only(0)}, []string{"#5 A615 60 20'-0\" x 12 of [21] truck 0", "#5 A615 60 10'-0\" x 12 of [11] truck 0"},
			[]string{"6 of 60'-0\""}, scan.Cuts{24, 360 * bar.Foot}, scan.Cuts{}},
		// The second truck's 12 of 20' need four bars; its own is the shortage.
		"the first truck comes first": {[]func(*past){first, second, only(8, 1)}, []string{"#5 A615 60 20'-0\" x 6 of [22] truck 1"}, []string{"2 of 60'-0\""},
			scan.Cuts{36, 600 * bar.Foot}, scan.Cuts{30, 480 * bar.Foot}},
		"a bar of both specs serves once": {[]func(*past){first, only(3, 1, 5)}, nil, nil, scan.Cuts{24, 360 * bar.Foot}, scan.Cuts{24, 360 * bar.Foot}},
		"other steel does not serve": {[]func(*past){first, only(9, 3)}, []string{"#5 A615 60 20'-0\" x 12 of [21] truck 0", "#5 A615 60 10'-0\" x 12 of [11] truck 0"},
			[]string{"6 of 60'-0\""}, scan.Cuts{24, 360 * bar.Foot}, scan.Cuts{}},
		"held steel does not serve": {[]func(*past){first, only(6, 1), func(p *past) { p.hold(heatH1) }},
			[]string{"#5 A615 60 20'-0\" x 12 of [21] truck 0", "#5 A615 60 10'-0\" x 12 of [11] truck 0"}, []string{"6 of 60'-0\""}, scan.Cuts{24, 360 * bar.Foot}, scan.Cuts{}},
		// What is being cut has its bars, also for no truck: 22 takes four of the six.
		"an open run has its bars": {[]func(*past){first, only(6, 1), func(p *past) { p.run("S1", []int{1}, bundle(22)) }},
			[]string{"#5 A615 60 20'-0\" x 6 of [21] truck 0", "#5 A615 60 10'-0\" x 12 of [11] truck 0"}, []string{"4 of 60'-0\""}, scan.Cuts{24, 360 * bar.Foot}, scan.Cuts{6, 120 * bar.Foot}},
		// 12 of 25' are six bars with 10' left of each, which is worth keeping: the 10' of the next truck.
		"what is left serves the next truck": {[]func(*past){
			func(p *past) {
				p.lines[2].Length = 25 * bar.Foot
				p.plan(truck, 0, bundle(21))
				p.departs(truck, "2026-11-25", "")
			},
			func(p *past) { p.plan(truck2, 0, bundle(11)) }, only(6, 1),
		}, []string{"#5 A615 60 10'-0\" x 6 of [11] truck 1"}, []string{"1 of 60'-0\""}, scan.Cuts{24, 420 * bar.Foot}, scan.Cuts{18, 360 * bar.Foot}},
		"too long for what the plant buys": {[]func(*past){func(p *past) { p.lines[2].Length = 61 * bar.Foot; p.plan(truck, 0, bundle(21)) }},
			[]string{"#5 A615 60 61'-0\" x 12 of [21] truck 0"}, []string{"12 pieces of 61'-0\" are too long"}, scan.Cuts{12, 732 * bar.Foot}, scan.Cuts{}},
		"what is cut needs no bar": {[]func(*past){only(0), func(p *past) { p.done("S1", []int{1}, bundle(11)); p.plan(truck, 0, bundle(11)) }}, nil, nil, scan.Cuts{}, scan.Cuts{}},
		"part done": {[]func(*past){only(0), func(p *past) { p.plan(truck, 0, bundle(11)); p.change(bundle(11), func(b *scan.Bundle) { b.Made = 5 }) }},
			[]string{"#5 A615 60 10'-0\" x 7 of [11] truck 0"}, []string{"2 of 60'-0\""}, scan.Cuts{7, 70 * bar.Foot}, scan.Cuts{}},
		"a step before the cut": {[]func(*past){only(0), func(p *past) { p.lines[2].Route = []string{"thread", "cut"}; p.plan(truck, 0, bundle(21)) }},
			[]string{"#5 A615 60 20'-0\" x 12 of [21] truck 0"}, []string{"4 of 60'-0\""}, scan.Cuts{12, 240 * bar.Foot}, scan.Cuts{}},
		// 12 of 10' weigh 125.16 lb; 25.16 lb are missing, which is three pieces of 10.43 lb.
		"coil": {[]func(*past){func(p *past) {
			p.lines[1].Route = []string{"cut and bend"}
			p.lot(2, func(l *heat.Lot) { l.Length, l.Received, l.Mass = 0, 0, 100*bar.Pound })
			p.plan(truck, 0, bundle(11))
		}}, []string{"#5 A615 60 10'-0\" coil x 3 of [11] truck 0"}, []string{"coil of 25 lb"}, scan.Cuts{}, scan.Cuts{}},
		"enough coil": {[]func(*past){func(p *past) {
			p.lines[1].Route = []string{"cut and bend"}
			p.lot(2, func(l *heat.Lot) { l.Length, l.Received, l.Mass = 0, 0, 126*bar.Pound })
			p.plan(truck, 0, bundle(11))
		}}, nil, nil, scan.Cuts{}, scan.Cuts{}},
	} {
		t.Run(name, func(t *testing.T) {
			p := shop()
			for _, f := range c.past {
				f(p)
			}
			r := withShift()
			got := scan.Needs(p, r).Shortage(p, r)
			var short, buy []string
			for _, s := range got.Short {
				coil := ""
				if s.Coil {
					coil = " coil"
				}
				var of []int
				for _, n := range s.Bundles {
					of = append(of, n.Serial())
				}
				short = append(short, fmt.Sprintf("%v %s%s x %d of %v truck %d", s.Steel, s.Length.Text(bar.Imperial), coil, s.Pieces, of, s.Truck))
			}
			for _, b := range got.Buy {
				switch {
				case b.Coil:
					buy = append(buy, "coil of "+b.Mass.Text(bar.Imperial))
				case b.Bars == 0:
					buy = append(buy, fmt.Sprintf("%d pieces of %s are too long", b.Pieces, b.Length.Text(bar.Imperial)))
				default:
					buy = append(buy, fmt.Sprintf("%d of %s", b.Bars, b.Length.Text(bar.Imperial)))
				}
			}
			require.Equal(t, c.short, short)
			require.Equal(t, c.buy, buy)
			require.Equal(t, c.wanted, got.Asked)
			require.Equal(t, c.made, got.Made)
		})
	}
}

// TestNeedsAnyhow: whatever is planned, nothing waits twice, the order is total and does not depend on
// the order in which the loads are found, an earlier truck is never short for a later one, and what is
// made and what is short are together what is wanted.
func TestNeedsAnyhow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := shop()
		for n := 1; n <= 5; n++ {
			p.lot(n, func(l *heat.Lot) { l.Received = rapid.IntRange(0, 6).Draw(t, "bars") })
		}
		var all []tags.Number
		for line := 1; line <= 5; line++ {
			all = append(all, bundle(10*line+1), bundle(10*line+2))
		}
		all = rapid.Permutation(all).Draw(t, "bundles")
		if rapid.Bool().Draw(t, "run") {
			p.run("S1", []int{1}, all[0])
		}
		for i := 1; i <= 4; i++ {
			n := number(tags.Load, i)
			p.departs(n, rapid.SampledFrom([]string{"", "2026-11-25", "2026-11-26"}).Draw(t, "date"), "")
			for range rapid.IntRange(0, 3).Draw(t, "planned") {
				if len(all) > 0 {
					p.plan(n, rapid.IntRange(0, 2).Draw(t, "stop"), all[0])
					all = all[1:]
				}
			}
		}
		r := withShift()
		w := scan.Needs(p, r)
		for range 5 { // maps are walked in another order each time
			require.Equal(t, w, scan.Needs(p, r))
		}
		seen := map[tags.Number]bool{}
		for i, n := range w.Needs {
			require.False(t, seen[n.Bundle.Number])
			seen[n.Bundle.Number] = true
			if i > 0 {
				before := w.Needs[i-1]
				require.True(t, before.Truck < n.Truck || before.Truck == n.Truck && before.Stop >= n.Stop)
			}
		}
		s := w.Shortage(p, r)
		wanted := scan.Cuts{}
		for _, n := range w.Needs {
			if pieces, coil := n.Draws(); !coil {
				wanted.Pieces += pieces
				wanted.Length += n.Line.Length * bar.Length(pieces)
			}
		}
		require.Equal(t, wanted, s.Asked)
		have := s.Made
		for _, x := range s.Short {
			have.Pieces += x.Pieces
			have.Length += x.Length * bar.Length(x.Pieces)
		}
		require.Equal(t, wanted, have)
		// With the last truck gone, nothing before it is shorter.
		last := len(w.Trucks) - 1
		fewer := scan.Wanted{Trucks: w.Trucks, Needs: slices.DeleteFunc(slices.Clone(w.Needs), func(n scan.Need) bool { return n.Truck == last })}
		if p.floors["S1"].Run == 0 {
			before := func(s scan.Shortage) (out map[string]int) {
				out = map[string]int{}
				for _, x := range s.Short {
					if x.Truck < last {
						out[fmt.Sprint(x.Steel, x.Length)] = x.Truck
					}
				}
				return out
			}
			require.Equal(t, before(fewer.Shortage(p, r)), before(s))
		}
	})
}
