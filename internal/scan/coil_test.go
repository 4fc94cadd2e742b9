package scan_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// coil makes a lot of #5 coil, and puts it onto feed A of the stirrup machine C1.
func (p *past) coil(n int, mass bar.Mass) {
	p.lots[stock(n)] = heat.Lot{Number: stock(n), Mill: "Example Mill", Heats: []string{"K" + string(rune('0'+n))}, Steel: five, Mass: mass, Melted: "US", Rolled: "US", At: int64(n)}
	p.charge("C1", "A", n)
}

func weighed(d ...event.MassDraw) func(*scan.Scan) { return func(s *scan.Scan) { s.Coils = d } }
func scrap(m bar.Mass) func(*scan.Scan)            { return func(s *scan.Scan) { s.Scrap = m } }

// onCoil begins bundle 51 (12 pieces of 10' of #5) from coils at C1, where it is cut and bent in one.
func onCoil(coils ...int) func(*past) {
	return func(p *past) {
		for _, n := range coils {
			p.coil(n, 100*bar.Pound)
		}
		p.change(bundle(51), func(b *scan.Bundle) { b.Route = []string{"cut and bend"} })
		p.run("C1", coils, bundle(51))
	}
}

// twelve is what 12 pieces of 10' of #5 weigh: 120' at 1.043 lb/ft (ASTM A615/A615M Table 1).
const twelve = 125_160 * bar.Pound / 1000

func cutFrom(c event.CoilClosed) event.CoilCut {
	return event.CoilCut{Run: 100, Bundle: bundle(51), Pieces: 12, Asked: 12, Closed: c}
}

func init() {
	draw := func(n int, m bar.Mass, over ...bar.Mass) event.MassDraw {
		d := event.MassDraw{Lot: stock(n), Mass: m}
		if len(over) > 0 {
			d.Over = over[0]
		}
		return d
	}
	const hundred = 100 * bar.Pound
	table = append(table, []one{
		{"from coil, begun", func(p *past) {
			p.coil(6, hundred)
			p.change(bundle(51), func(b *scan.Bundle) { b.Route = []string{"cut and bend"} })
		}, at("C1", bundle(51)), yes, []string{"cut started"}, []event.Body{event.RunOpened{Station: "C1", Bundle: bundle(51), Lots: nums([]int{6})}}},
		{"from coil, nobody weighed it", func(p *past) {
			onCoil(6)(p)
			p.lot(6, func(l *heat.Lot) { l.Mass = 1000 * bar.Pound })
		}, at("C1", bundle(51)), yes, []string{"cut done", "coil drawn"},
			[]event.Body{cutFrom(event.CoilClosed{Draws: []event.MassDraw{draw(6, twelve)}})}},
		{"from two coils, the last charged first", onCoil(6, 7), at("C1", bundle(51)), yes, []string{"cut done", "coil drawn"},
			[]event.Body{cutFrom(event.CoilClosed{Draws: []event.MassDraw{draw(7, hundred), draw(6, twelve-hundred)}, Assumed: true})}},
		{"more than the coil has", onCoil(6), at("C1", bundle(51)), check, []string{"cut done", "coil difference", "coil drawn"},
			[]event.Body{cutFrom(event.CoilClosed{Draws: []event.MassDraw{draw(6, twelve, twelve-hundred)}})}},
		{"from coil, weighed", onCoil(6, 7), at("C1", bundle(51), weighed(draw(6, 60*bar.Pound), draw(7, twelve-60*bar.Pound))), yes, []string{"cut done", "coil drawn"},
			[]event.Body{cutFrom(event.CoilClosed{Draws: []event.MassDraw{draw(6, 60*bar.Pound), draw(7, twelve-60*bar.Pound)}, Lots: nums([]int{6, 7})})}},
		{"from coil, weighed with scrap", onCoil(6, 7), at("C1", bundle(51), scrap(5*bar.Pound)), yes, []string{"cut done", "coil drawn"},
			[]event.Body{cutFrom(event.CoilClosed{Draws: []event.MassDraw{draw(7, hundred), draw(6, twelve-95*bar.Pound)}, Scrap: 5 * bar.Pound, Assumed: true})}},
		{"from coil, too little", onCoil(6, 7), at("C1", bundle(51), weighed(draw(6, 90*bar.Pound))), check, []string{"cut done", "coil drawn", "coil missing"},
			[]event.Body{cutFrom(event.CoilClosed{Draws: []event.MassDraw{draw(6, 90*bar.Pound)}, Missing: twelve - 90*bar.Pound, Lots: nums([]int{6, 7})})}},
		{"from coil, too much", onCoil(6, 7), at("C1", bundle(51), weighed(draw(6, hundred), draw(7, hundred))), check, []string{"cut done", "coil drawn", "coil left over"}, nil},
		{"from coil, its remnant", onCoil(6, 7), at("C1", bundle(51), left(event.Remnant{Length: bar.Foot, Bars: 1})), check, []string{"cut done", "coil drawn", "no remnant of coil"}, nil},
		{"from coil of other steel", func(p *past) {
			onCoil(6, 7)(p)
			p.lot(7, func(l *heat.Lot) { l.Steel = low })
		}, at("C1", bundle(51), weighed(draw(6, 60*bar.Pound), draw(7, twelve-60*bar.Pound))), check, []string{"cut done", "drew other steel", "coil drawn"}, nil},
		{"from coil, short", onCoil(6, 7), at("C1", bundle(51), pieces(10)), check, []string{"cut done", "count short", "coil drawn"}, nil},
		{"from coil, a part", onCoil(6, 7), at("C1", bundle(51), do(scan.Part), pieces(5)), yes, []string{"part made", "coil drawn"}, nil},
		{"from coil and bars on one feed", func(p *past) {
			onCoil(6, 7)(p)
			r := p.runs[100]
			r.Lots = append(r.Lots, stock(1))
			p.runs[100] = r
		}, at("C1", bundle(51)), yes, []string{"cut done", "coil drawn"},
			[]event.Body{cutFrom(event.CoilClosed{Draws: []event.MassDraw{draw(7, hundred), draw(6, twelve-hundred)}, Assumed: true})}},
		{"a run with coil on its feed, from bars as somebody says", func(p *past) {
			onCoil(6)(p)
		}, at("C1", bundle(51), bars(event.Draw{Lot: stock(1), Bars: 2}), scrap(bar.Pound)), check, []string{"cut done", "run closed", "scrap not counted"}, nil},
		{"nothing joins a run from coil", func(p *past) {
			onCoil(6)(p)
			p.change(bundle(52), func(b *scan.Bundle) { b.Route = []string{"cut and bend"} })
		}, at("C1", bundle(52)), refused, []string{"other run"}, nil},
		{"counted beside a run from coil", func(p *past) {
			onCoil(6, 7)(p)
			p.change(bundle(52), func(b *scan.Bundle) { b.Route = []string{"cut and bend"} })
		}, at("C1", bundle(52), pieces(12)), check, []string{"cut done", "coil drawn", "cut aside"}, nil},
		{"coil said of a bundle in a run with another", func(p *past) {
			p.coil(6, hundred)
			p.run("S1", []int{1}, bundle(11), bundle(12))
		}, at("S1", bundle(11), weighed(draw(6, hundred))), refused, []string{"coil apart"}, nil},
		{"bars of coil", onCoil(6), at("C1", bundle(51), bars(event.Draw{Lot: stock(6), Bars: 2})), refused, []string{"is coil"}, nil},
		{"weight of bars", onCoil(6), at("C1", bundle(51), weighed(draw(1, hundred))), refused, []string{"is bars"}, nil},
		{"bars and coil", onCoil(6), at("C1", bundle(51), weighed(draw(6, hundred)), bars(event.Draw{Lot: stock(1), Bars: 2})), refused, []string{"bars and coil"}, nil},
		{"no weight", onCoil(6), at("C1", bundle(51), weighed(draw(6, 0))), refused, []string{"weight wrong"}, nil},
		{"no weight of scrap", onCoil(6), at("C1", bundle(51), scrap(-1)), refused, []string{"weight wrong"}, nil},
		{"coil that was never given out", onCoil(6), at("C1", bundle(51), weighed(draw(9, hundred))), refused, []string{"not known"}, nil},
		{"too many coils", onCoil(6), at("C1", bundle(51), weighed(make([]event.MassDraw, 51)...)), refused, []string{"too many"}, nil},
		{"full lengths of coil", func(p *past) { p.coil(6, hundred) }, at("Y1", bundle(41), from(6)), refused, []string{"not of coil"}, nil},
		{"went unscanned while it was cut from coil", func(p *past) {
			onCoil(6, 7)(p)
			p.opened(truck)
			p.loads[truck2] = p.loads[truck]
		}, at("L1", bundle(51), gone), check, []string{"loaded", "cut done", "coil drawn", "went unscanned", "wrong job"}, nil},

		// One machine for two steps.
		{"cut and bent in one, where the route has two steps", func(p *past) { p.coil(6, hundred) }, at("C1", bundle(11)), yes, []string{"cut started", "both in one"},
			[]event.Body{event.RouteSet{Bundle: bundle(11), Route: []string{"cut and bend"}}, event.RunOpened{Station: "C1", Bundle: bundle(11), Lots: nums([]int{6})}}},
		{"cut and bent in one, and tied", func(p *past) {
			p.coil(6, hundred)
			p.lines[1].Route = []string{"cut", "bend", "tie"}
		}, at("C1", bundle(11)), yes, []string{"cut started", "both in one"},
			[]event.Body{event.RouteSet{Bundle: bundle(11), Route: []string{"cut and bend", "tie"}}, event.RunOpened{Station: "C1", Bundle: bundle(11), Lots: nums([]int{6})}}},
		{"a machine that cuts and bends, a straight bar", func(p *past) { p.coil(6, hundred) }, at("C1", bundle(21)), refused, []string{"nothing to do"}, nil},
		{"cut and bent in one, counted though begun at the shear", func(p *past) { p.coil(6, 1000*bar.Pound); p.run("S1", []int{1}, bundle(11)) }, at("C1", bundle(11), pieces(12)), check,
			[]string{"cut done", "coil drawn", "started elsewhere", "both in one"}, nil},
		{"the rest of a part from the shear, counted at a machine that cuts and bends", func(p *past) {
			p.coil(6, 1000*bar.Pound)
			p.change(bundle(11), func(b *scan.Bundle) { b.Made = 5 })
		}, at("C1", bundle(11), pieces(7)), check, []string{"cut done", "coil drawn", "bent already"}, nil},
		{"a part more of it", func(p *past) {
			p.coil(6, 1000*bar.Pound)
			p.change(bundle(11), func(b *scan.Bundle) { b.Made = 5 })
		}, at("C1", bundle(11), pieces(2), do(scan.Part)), check, []string{"part made", "coil drawn", "bent already"}, nil},
		{"the rest of a part is not begun there", func(p *past) {
			p.coil(6, hundred)
			p.change(bundle(11), func(b *scan.Bundle) { b.Made = 5 })
		}, at("C1", bundle(11)), refused, []string{"nothing to do"}, nil},
		{"begun at the shear", func(p *past) { p.coil(6, hundred); p.run("S1", []int{1}, bundle(11)) }, at("C1", bundle(11)), refused, []string{"other station"}, nil},
		{"one step for both, at a plain shear", func(p *past) {
			p.change(bundle(51), func(b *scan.Bundle) { b.Route = []string{"cut and bend"} })
		}, at("S1", bundle(51)), refused, []string{"one step for both"}, nil},
		{"one step for both, cut at a plain shear", func(p *past) {
			p.change(bundle(51), func(b *scan.Bundle) { b.Route = []string{"cut and bend", "tie"} })
		}, at("S1", bundle(51), pieces(12)), check, []string{"cut done", "into pocket", "run closed", "cut only"}, nil},
	}...)
}

// TestRoutes walks bundles through routes in the orders that shops have: at a station a step, at stations
// that do several, and without any step that draws.
func TestRoutes(t *testing.T) {
	everywhere := rules()
	everywhere.Stations = append(everywhere.Stations,
		scan.Station{Name: "W1", Title: "Saw", Does: []scan.Work{"saw"}, Feeds: []string{"A"}},
		scan.Station{Name: "T1", Title: "Threader", Does: []scan.Work{"thread", "head"}},
		scan.Station{Name: "K1", Title: "Coater", Does: []scan.Work{"coat"}},
		scan.Station{Name: "A1", Title: "All of it", Does: []scan.Work{"cut", "bend", "tie"}, Feeds: []string{"A"}},
	)
	for _, c := range []struct {
		route string
		at    []string // the station of each step
	}{
		{"saw,thread", []string{"W1", "T1"}},
		{"thread,saw", []string{"T1", "W1"}},
		{"cut,head,bend,coat", []string{"S1", "T1", "B1", "K1"}},
		{"coat,cut,bend", []string{"K1", "S1", "B1"}},
		{"cut,bend,tie", []string{"A1", "A1", "A1"}},
		{"cut,bend,tie", []string{"S1", "B2", "A1"}},
		{"cut and bend,tie", []string{"C1", "A1"}},
		{"bend", []string{"B1"}},
		{"coat,bend", []string{"K1", "B1"}},
		{"thread,head", []string{"T1", "T1"}},
	} {
		t.Run(c.route, func(t *testing.T) {
			p := shop()
			p.coil(6, 1000*bar.Pound)
			p.charge("W1", "A", 2)
			p.charge("A1", "A", 5)
			e, _, err := scan.SetRoute(p, bundle(21), strings.Split(c.route, ","), "as the order says")
			require.NoError(t, err)
			p.change(bundle(21), func(b *scan.Bundle) { b.Route = e.Route })
			for i, station := range c.at {
				for range 2 { // begun, and done
					out := scan.Decide(p, everywhere, at(station, bundle(21)))
					require.NotEqual(t, refused.String(), out.Answer.Verdict.String(), "%s at %s: %v", e.Route[i], station, codes(out.Answer))
					p.fold(out)
				}
				b := p.bundles[bundle(21)]
				require.Equal(t, i+1, b.Done)
				require.False(t, b.Started)
				if i+1 < len(c.at) { // what is not next is not done
					for _, other := range []string{"S1", "B1", "K1"} {
						st, _ := everywhere.Station(other)
						if !st.Can(scan.Work(e.Route[i+1])) && b.Next(p.lines[2]) != "cut and bend" {
							require.Equal(t, refused.String(), scan.Decide(p, everywhere, at(other, bundle(21))).Answer.Verdict.String())
						}
					}
				}
			}
			require.Empty(t, p.bundles[bundle(21)].Next(p.lines[2]))
		})
	}
}

// fold is as much of what the views do with events as a walk along a route needs.
func (p *past) fold(out scan.Outcome) {
	for _, e := range out.Events {
		switch e := e.(type) {
		case event.RunOpened:
			p.run(e.Station, nil, e.Bundle)
			seq := p.bundles[e.Bundle].Runs[0]
			r := p.runs[seq]
			r.Lots = e.Lots
			p.runs[seq] = r
		case event.CutDone, event.CoilCut:
			c, _ := scan.CutOf(e)
			r := p.runs[c.Run]
			r.By = 10_000
			r.Members[0].Done = true
			p.runs[c.Run] = r
			p.floors[r.Station] = scan.Floor{Feeds: p.floors[r.Station].Feeds}
			p.change(c.Bundle, func(b *scan.Bundle) { b.Started, b.Done = false, b.Done+1 })
		case event.StepStarted:
			p.change(e.Bundle, func(b *scan.Bundle) { b.Started, b.Station, b.Progress = true, e.Station, append(b.Progress, 20_000) })
		case event.StepDone:
			p.change(e.Bundle, func(b *scan.Bundle) { b.Started, b.Done = false, b.Done+1 })
		}
	}
}

// A card of a bundle that is cut from coil says which coil to load and what it needs, and plans no bars.
func TestCoilCard(t *testing.T) {
	p := shop()
	p.change(bundle(51), func(b *scan.Bundle) { b.Route = []string{"cut and bend"} })
	p.coil(6, 100*bar.Pound)
	p.lots[stock(7)] = heat.Lot{Number: stock(7), Mill: "Example Mill", Steel: five, Mass: 20 * bar.Pound, Place: bay, At: 7}
	c, ok := scan.CardOf(p, rules(), "C1", bundle(51))
	require.True(t, ok)
	require.True(t, c.Coil)
	require.Empty(t, c.Plan)
	require.Equal(t, bar.Mass(twelve), c.Mass)
	require.Len(t, c.Bring, 2)
	require.Equal(t, []any{stock(6), "A", "", bar.Mass(100 * bar.Pound)}, []any{c.Bring[0].Lot.Number, c.Bring[0].Feed, c.Bring[0].Place, c.Bring[0].Mass})
	require.Equal(t, []any{stock(7), "Bay 4", bar.Mass(20 * bar.Pound)}, []any{c.Bring[1].Lot.Number, c.Bring[1].Place, c.Bring[1].Mass})
	require.Equal(t, twelve-bar.Mass(120*bar.Pound), c.Lacking)
	// At a shear with bars on its feed, coil in the yard is nobody's business.
	c, _ = scan.CardOf(p, rules(), "S1", bundle(21))
	require.False(t, c.Coil)
	require.NotEmpty(t, c.Plan)
}

// A run from coil that is undone gives its coil back, unless what it lacked is begun.
func TestUndoCoil(t *testing.T) {
	p := shop()
	onCoil(6, 7)(p)
	out := decide(t, p, at("C1", bundle(51)))
	cut := out.Events[0].(event.CoilCut)
	p.bodies[10_100] = cut
	p.fold(out)
	r := p.runs[100]
	r.By = 10_100
	p.runs[100] = r
	p.change(bundle(51), func(b *scan.Bundle) { b.Progress = append(b.Progress, 10_100) })
	u, _, err := scan.Undo(p, rules(), bundle(51), "not cut")
	require.NoError(t, err)
	require.Equal(t, uint64(10_100), u.Seq)
	cut.Rest = bundle(52)
	p.bodies[10_100] = cut
	p.change(bundle(52), func(b *scan.Bundle) { b.Progress = []uint64{7} })
	_, _, err = scan.Undo(p, rules(), bundle(51), "not cut")
	require.ErrorContains(t, err, "remainder")
}

// weighs checks that a run from coil keeps its mass: draws + missing = pieces + scrap.
func weighs(t *testing.T, p *past, n tags.Number, pieces int, c event.CoilClosed) {
	l := p.lines[p.bundles[n].Line]
	need, err := bar.Weigh(l.Steel.Size, l.Length*bar.Length(pieces))
	require.NoError(t, err)
	drawn := c.Missing
	for _, d := range c.Draws {
		drawn += d.Mass
	}
	require.Equal(t, need+c.Scrap, drawn)
}
