package scan_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// drew makes bundle 21, 12 pieces of 20', cut at S1 from lots as a closing says, and gives its run.
func (p *past) drew(lots []int, c event.RunClosed) uint64 {
	seq := p.done("S1", lots, bundle(21))
	c.Steel = five
	p.closed[seq] = &c
	r := p.runs[seq]
	r.Missing = c.Missing
	if len(c.Lots) > 0 {
		r.Before, r.Lots = r.Lots, c.Lots
	}
	p.runs[seq] = r
	for _, d := range c.Draws {
		l := p.lots[d.Lot]
		l.Taken, l.Over = l.Taken+d.Bars, l.Over+d.Over
		p.lots[d.Lot] = l
	}
	for _, rem := range c.Remnants {
		p.lots[rem.Lot] = heat.Lot{Number: rem.Lot, Steel: five, Length: rem.Length, Received: rem.Bars, Run: seq, Parents: r.Lots}
	}
	return seq
}

func draws(d ...event.Draw) []event.Draw { return d }

// TestMend: 12 pieces of 20' are four bars of 60'.
func TestMend(t *testing.T) {
	for _, c := range []struct {
		name string
		past func(*past)
		m    scan.Mending
		lots []int // of the open run, or before the closing
		want event.RunClosed
		says []string
	}{
		{"nothing was scanned onto the feed", func(p *past) { p.drew(nil, event.RunClosed{Missing: 240 * bar.Foot}) }, scan.Mending{Lot: stock(2)},
			[]int{2}, event.RunClosed{Lots: nums([]int{2}), Draws: draws(event.Draw{Lot: stock(2), Bars: 4})}, []string{"charge mended", "mended bundles"}},
		{"nothing was scanned, and the lot has not so many", func(p *past) {
			p.lot(2, func(l *heat.Lot) { l.Taken = 49 })
			p.drew(nil, event.RunClosed{Missing: 240 * bar.Foot})
		}, scan.Mending{Lot: stock(2)}, []int{2},
			event.RunClosed{Lots: nums([]int{2}), Draws: draws(event.Draw{Lot: stock(2), Bars: 4, Over: 3})}, []string{"charge mended", "count difference", "mended bundles"}},
		{"what one lot gave beyond its bars was of the other", func(p *past) {
			p.lot(1, func(l *heat.Lot) { l.Taken = 48 })
			p.drew([]int{1}, event.RunClosed{Draws: draws(event.Draw{Lot: stock(1), Bars: 4, Over: 2})})
		}, scan.Mending{Lot: stock(2)}, []int{1, 2},
			event.RunClosed{Lots: nums([]int{1, 2}), Assumed: true, Draws: draws(event.Draw{Lot: stock(1), Bars: 2}, event.Draw{Lot: stock(2), Bars: 2})}, []string{"charge mended", "mended bundles"}},
		{"it may have lain there, and none of it is known to be drawn", func(p *past) {
			p.drew([]int{1}, event.RunClosed{Draws: draws(event.Draw{Lot: stock(1), Bars: 4})})
		}, scan.Mending{Lot: stock(2)}, []int{1, 2},
			event.RunClosed{Lots: nums([]int{1, 2}), Assumed: true, Draws: draws(event.Draw{Lot: stock(1), Bars: 4})}, []string{"charge mended", "mended bundles"}},
		{"metal was missing", func(p *past) {
			p.drew([]int{1}, event.RunClosed{Draws: draws(event.Draw{Lot: stock(1), Bars: 3}), Missing: 60 * bar.Foot, Lots: nums([]int{1})})
		}, scan.Mending{Lot: stock(2)}, []int{1, 2},
			event.RunClosed{Lots: nums([]int{1, 2}), Assumed: true, Draws: draws(event.Draw{Lot: stock(1), Bars: 3}, event.Draw{Lot: stock(2), Bars: 1})}, []string{"charge mended", "mended bundles"}},
		{"what is left over of the bars now", func(p *past) {
			p.change(bundle(21), func(b *scan.Bundle) { b.Pieces = 10 })
			p.drew(nil, event.RunClosed{Missing: 200 * bar.Foot})
		}, scan.Mending{Lot: stock(2)}, []int{2},
			event.RunClosed{Lots: nums([]int{2}), Draws: draws(event.Draw{Lot: stock(2), Bars: 4}), Scrap: 40 * bar.Foot}, []string{"charge mended", "left over", "mended bundles"}},
		{"a person says which bars", func(p *past) {
			p.drew([]int{1}, event.RunClosed{Draws: draws(event.Draw{Lot: stock(1), Bars: 5}), Remnants: []event.Remnant{{Lot: stock(9), Length: 55 * bar.Foot, Bars: 1}}, Scrap: 5 * bar.Foot})
		}, scan.Mending{Lot: stock(2), Bars: draws(event.Draw{Lot: stock(2), Bars: 5})}, []int{1, 2},
			event.RunClosed{Lots: nums([]int{2}), Draws: draws(event.Draw{Lot: stock(2), Bars: 5}), Remnants: []event.Remnant{{Lot: stock(9), Length: 55 * bar.Foot, Bars: 1}}, Scrap: 5 * bar.Foot},
			[]string{"charge mended", "mended bundles"}},
		{"a person says fewer bars than were cut", func(p *past) { p.drew([]int{1}, event.RunClosed{Draws: draws(event.Draw{Lot: stock(1), Bars: 4})}) },
			scan.Mending{Lot: stock(2), Bars: draws(event.Draw{Lot: stock(2), Bars: 3})}, []int{1, 2},
			event.RunClosed{Lots: nums([]int{2, 1}), Draws: draws(event.Draw{Lot: stock(2), Bars: 3}), Missing: 60 * bar.Foot}, []string{"charge mended", "mended bundles"}},
		{"it was long gone", func(p *past) {
			p.drew([]int{1, 2}, event.RunClosed{Assumed: true, Draws: draws(event.Draw{Lot: stock(1), Bars: 4})})
		},
			scan.Mending{Lot: stock(2), Not: true}, []int{1},
			event.RunClosed{Lots: nums([]int{1}), Draws: draws(event.Draw{Lot: stock(1), Bars: 4})}, []string{"charge taken out", "mended bundles"}},
		{"it was long gone, and the record had drawn from it", func(p *past) {
			p.drew([]int{1, 2}, event.RunClosed{Assumed: true, Draws: draws(event.Draw{Lot: stock(2), Bars: 3}, event.Draw{Lot: stock(1), Bars: 1})})
		}, scan.Mending{Lot: stock(2), Not: true}, []int{1},
			event.RunClosed{Lots: nums([]int{1}), Draws: draws(event.Draw{Lot: stock(1), Bars: 4})}, []string{"charge taken out", "mended bundles"}},
		{"its bars were of the others, which have not so many", func(p *past) {
			p.lot(1, func(l *heat.Lot) { l.Taken = 49 })
			p.drew([]int{1, 2}, event.RunClosed{Assumed: true, Draws: draws(event.Draw{Lot: stock(2), Bars: 4})})
		}, scan.Mending{Lot: stock(2), Not: true}, []int{1},
			event.RunClosed{Lots: nums([]int{1}), Draws: draws(event.Draw{Lot: stock(1), Bars: 4, Over: 3})}, []string{"charge taken out", "count difference", "mended bundles"}},
		{"its bars were of none of that length", func(p *past) {
			p.lot(1, func(l *heat.Lot) { l.Length = 40 * bar.Foot })
			p.drew([]int{1, 2}, event.RunClosed{Assumed: true, Draws: draws(event.Draw{Lot: stock(2), Bars: 4})})
		}, scan.Mending{Lot: stock(2), Not: true}, []int{1},
			event.RunClosed{Lots: nums([]int{1}), Missing: 240 * bar.Foot}, []string{"charge taken out", "mended bundles"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := shop()
			c.past(p)
			c.m.Station, c.m.Feed, c.m.Runs, c.m.Reason = "S1", "A", []uint64{100}, " found its  tag "
			out, err := scan.Mend(p, rules(), c.m)
			require.NoError(t, err)
			c.want.Steel = five
			require.Equal(t, event.ChargeMended{Station: "S1", Feed: "A", Lot: stock(2), Reason: "found its tag",
				Runs: []event.RunMended{{Run: 100, Lots: nums(c.lots), Closed: &c.want}}}, out.Event)
			require.Equal(t, []event.Body{out.Event}, out.Events)
			require.Equal(t, c.says, codes(out.Answer))
			require.Equal(t, []tags.Number{bundle(21)}, out.Bundles)
			noGaps(t, out.Answer)
		})
	}
}

// TestMendSeveral: runs are restated in the order in which they closed, so that bars that the first one
// gives back are there for the next.
func TestMendSeveral(t *testing.T) {
	p := shop()
	p.lot(1, func(l *heat.Lot) { l.Taken = 44 }) // 6 bars are left, and 8 are drawn
	first := p.drew([]int{1}, event.RunClosed{Draws: draws(event.Draw{Lot: stock(1), Bars: 4})})
	second := p.done("S1", []int{1}, bundle(22))
	p.closed[second] = &event.RunClosed{Steel: five, Draws: draws(event.Draw{Lot: stock(1), Bars: 4, Over: 2})}
	p.lot(1, func(l *heat.Lot) { l.Taken, l.Over = l.Taken+4, 2 })
	open := p.run("S1", []int{1}, bundle(11))
	out, err := scan.Mend(p, rules(), scan.Mending{Station: "S1", Lot: stock(2), Runs: []uint64{open, second, first, first}, Reason: "r"})
	require.NoError(t, err)
	require.Len(t, out.Event.Runs, 3)
	require.Equal(t, []uint64{first, second, open}, []uint64{out.Event.Runs[0].Run, out.Event.Runs[1].Run, out.Event.Runs[2].Run})
	require.Equal(t, draws(event.Draw{Lot: stock(1), Bars: 4}), out.Event.Runs[0].Closed.Draws)
	require.Equal(t, draws(event.Draw{Lot: stock(1), Bars: 2}, event.Draw{Lot: stock(2), Bars: 2}), out.Event.Runs[1].Closed.Draws)
	require.Equal(t, event.RunMended{Run: open, Lots: nums([]int{1, 2})}, out.Event.Runs[2])

	// The first was cut from the other lot alone, as a person has seen: its four bars are there for the second.
	out, err = scan.Mend(p, rules(), scan.Mending{Station: "S1", Lot: stock(2), Runs: []uint64{first}, Bars: draws(event.Draw{Lot: stock(2), Bars: 4}), Reason: "r"})
	require.NoError(t, err)
	require.Equal(t, draws(event.Draw{Lot: stock(2), Bars: 4}), out.Event.Runs[0].Closed.Draws)
}

// TestMendTouches: what is made of the runs is found, also under other numbers and of what they left; and
// what a rule or a hold is against by now is told, of what has left before all.
func TestMendTouches(t *testing.T) {
	p := shop()
	p.job(event.JobSet{Job: "J", Heats: event.HeatsSingle})
	seq := p.drew([]int{1}, event.RunClosed{Draws: draws(event.Draw{Lot: stock(1), Bars: 5}), Remnants: []event.Remnant{{Lot: stock(9), Length: 60 * bar.Foot, Bars: 1}}})
	p.onto(truck, bundle(21), true)
	p.change(bundle(22), func(b *scan.Bundle) { b.Done, b.Runs = 1, []uint64{seq} }) // was split off
	p.parts[bundle(21)] = []tags.Number{bundle(22)}
	p.done("S1", []int{9}, bundle(11)) // of the remnant
	p.hold(event.Target{Number: stock(2)})
	out, err := scan.Mend(p, rules(), scan.Mending{Station: "S1", Lot: stock(2), Runs: []uint64{seq}, Reason: "r"})
	require.NoError(t, err)
	require.Equal(t, check, out.Answer.Verdict)
	require.Equal(t, []tags.Number{bundle(11), bundle(21), bundle(22)}, out.Bundles)
	require.Equal(t, []tags.Number{bundle(21)}, out.Left)
	require.Equal(t, out.Bundles, out.Against)
	require.Equal(t, []string{"charge mended", "mended bundles", "here against a rule", "heats not met", "left against a rule", "heats not met", "left with held",
		"here against a rule", "heats not met"}, codes(out.Answer))
	noGaps(t, out.Answer)
}

func TestMendRefused(t *testing.T) {
	drawn := event.RunClosed{Draws: draws(event.Draw{Lot: stock(1), Bars: 4})}
	for says, change := range map[string]func(*past, *scan.Mending){
		"reason: is missing":               func(_ *past, m *scan.Mending) { m.Reason = "" },
		"reason: has a character":          func(_ *past, m *scan.Mending) { m.Reason = "a\x00b" },
		"station: B1 is no station with a": func(_ *past, m *scan.Mending) { m.Station = "B1" },
		"feed: Shear 1 has no feed Z":      func(_ *past, m *scan.Mending) { m.Feed = "Z" },
		"is no lot of this plant":          func(_ *past, m *scan.Mending) { m.Lot = stock(77) },
		"runs: are missing":                func(_ *past, m *scan.Mending) { m.Runs = nil },
		"runs: are 201; 200 are the most":  func(_ *past, m *scan.Mending) { m.Runs = make([]uint64, 201) },
		"runs: 7 is no run":                func(_ *past, m *scan.Mending) { m.Runs = []uint64{7} },
		"runs: 100 was at S1":              func(_ *past, m *scan.Mending) { m.Station = "S2" },
		"is #8 A615 60, and run 100 is #5": func(_ *past, m *scan.Mending) { m.Lot = stock(3) },
		"100 is of coil, which gives one bundle": func(p *past, m *scan.Mending) {
			p.lot(2, func(l *heat.Lot) { l.Length, l.Received, l.Mass = 0, 0, 1000*bar.Kilogram })
		},
		"by the record already":         func(_ *past, m *scan.Mending) { m.Lot = stock(1) },
		"by the record either":          func(_ *past, m *scan.Mending) { m.Not = true },
		"is all that run 100 can be of": func(_ *past, m *scan.Mending) { m.Not, m.Lot = true, stock(1) },
		"bars: are said of one run; 2 are": func(_ *past, m *scan.Mending) {
			m.Runs, m.Bars = []uint64{100, 101}, draws(event.Draw{Lot: stock(2), Bars: 1})
		},
		"bars: name 2-001-00000077":            func(_ *past, m *scan.Mending) { m.Bars = draws(event.Draw{Lot: stock(77), Bars: 1}) },
		"bars: of lot 2-001-00000002-13 are 0": func(_ *past, m *scan.Mending) { m.Bars = draws(event.Draw{Lot: stock(2)}) },
		"which was not there": func(_ *past, m *scan.Mending) {
			m.Not, m.Lot, m.Bars = true, stock(1), draws(event.Draw{Lot: stock(1), Bars: 1})
		},
		"bars: are said when run 101 is closed": func(p *past, m *scan.Mending) {
			m.Runs, m.Bars = []uint64{p.run("S1", []int{1}, bundle(11))}, draws(event.Draw{Lot: stock(2), Bars: 1})
		},
		"came of what run 100 left": func(p *past, m *scan.Mending) {
			p.closed[100].Remnants = []event.Remnant{{Lot: stock(9), Length: 20 * bar.Foot, Bars: 1}}
			p.lots[stock(9)] = heat.Lot{Number: stock(9), Steel: five, Length: 20 * bar.Foot, Received: 1, Run: 100, Parents: nums([]int{1})}
			p.lots[stock(10)] = heat.Lot{Number: stock(10), Steel: five, Length: 10 * bar.Foot, Received: 1, Run: 101, Parents: nums([]int{9})}
			m.Lot = stock(10)
		},
	} {
		p := shop()
		p.drew([]int{1}, drawn)
		m := scan.Mending{Station: "S1", Feed: "A", Lot: stock(2), Runs: []uint64{100}, Reason: "found its tag"}
		change(p, &m)
		_, err := scan.Mend(p, rules(), m)
		var r *event.Refusal
		require.ErrorAs(t, err, &r, says)
		require.Contains(t, err.Error(), says)
	}
}
