package scan_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/scan"
)

// TestCard: what a shear shows of a bundle before and while it is cut.
func TestCard(t *testing.T) {
	p := shop()
	p.lot(1, func(l *heat.Lot) { l.Received = 1 })
	p.lot(2, func(l *heat.Lot) { l.Place = bay })
	_, ok := scan.CardOf(p, rules(), "S1", bundle(77))
	require.False(t, ok)

	// 12 of 10': the one bar of lot 1 that lies on the feed, then one of lot 2, which is older than 5.
	c, ok := scan.CardOf(p, rules(), "S1", bundle(11))
	require.True(t, ok)
	require.Equal(t, "cut", c.Step)
	require.Zero(t, c.Run)
	require.False(t, c.Drawn)
	require.Equal(t, []scan.Member{{Bundle: bundle(11), Length: 10 * bar.Foot, Pieces: 12}}, c.Members)
	require.Len(t, c.Bring, 2)
	require.Equal(t, scan.Bring{Lot: p.lots[stock(1)], Feed: "A", Bars: 1, Heats: heat.Draw{Certainty: heat.Certain, Heats: []heat.Key{{Mill: "Example Mill", Heat: "H1"}}}}, c.Bring[0])
	require.Equal(t, "Bay 4", c.Bring[1].Place)
	require.Equal(t, 1, c.Bring[1].Bars)
	n, keep, scrap := c.Bars()
	require.Equal(t, []any{2, bar.Length(0), bar.Length(0)}, []any{n, keep, scrap})
	require.Empty(t, c.Short)

	// With another bundle in the open run, the plan is of both: 12 of 20' and 12 of 10' are six bars.
	p.run("S1", []int{1}, bundle(21))
	c, _ = scan.CardOf(p, rules(), "S1", bundle(11))
	require.Len(t, c.Members, 2)
	require.NotZero(t, c.Run)
	n, _, _ = c.Bars()
	require.Equal(t, 6, n)

	// At the bender there is nothing to cut, and a bundle that is cut needs no bars.
	c, _ = scan.CardOf(p, rules(), "B1", bundle(11))
	require.Empty(t, c.Plan)
	p.done("S2", []int{1}, bundle(12))
	c, _ = scan.CardOf(p, rules(), "S1", bundle(12))
	require.Empty(t, c.Plan)
	require.True(t, c.Drawn)
	require.Equal(t, "bend", c.Step)
	require.Nil(t, c.Held)
	p.hold(event.Target{Number: stock(1)})
	c, _ = scan.CardOf(p, rules(), "S1", bundle(12))
	require.Equal(t, stock(1), c.Held.Target.Number)
}

// TestCardGauges: the stops are set for the bundle's own length, then for the others of the run.
func TestCardGauges(t *testing.T) {
	p, r := shop(), rules()
	c, _ := scan.CardOf(p, r, "S1", bundle(11))
	require.Empty(t, c.Gauges, "no stops, no gauge")
	r.Stations[0].Stops, r.Stations[0].Travel = stops().Stops, stops().Travel
	p.lines[1].Length = 9*bar.Foot + 6*bar.Inch
	p.run("S1", []int{1}, bundle(21), bundle(12))
	c, _ = scan.CardOf(p, r, "S1", bundle(11))
	require.Equal(t, []scan.Gauge{
		{Length: p.lines[1].Length, Stop: 8 * bar.Foot, Out: 18 * bar.Inch, Reach: true},
		{Length: 20 * bar.Foot, Stop: 20 * bar.Foot, Reach: true},
	}, c.Gauges)
	c, _ = scan.CardOf(p, r, "B1", bundle(11))
	require.Empty(t, c.Gauges)
}

// TestCardOfLotsSaid: a lot that a person said, and that lies in the yard, is counted once.
func TestCardOfLotsSaid(t *testing.T) {
	p := shop()
	p.lines[1].Length = 60 * bar.Foot
	for n := 1; n <= 5; n++ {
		p.lot(n, func(l *heat.Lot) { l.Received = 6 })
	}
	seq := p.run("S1", []int{2}, bundle(11))
	r := p.runs[seq]
	r.Said = true
	p.runs[seq] = r
	c, _ := scan.CardOf(p, rules(), "S1", bundle(11))
	require.Equal(t, stock(2), c.Bring[0].Lot.Number)
	require.Equal(t, 6, c.Bring[0].Bars)
	total := 0
	for _, b := range c.Bring {
		total += b.Bars
		require.LessOrEqual(t, b.Bars, 6)
	}
	require.Equal(t, 12, total)
}

// TestCardWithoutStock: pieces that nothing on hand serves are planned on stock that the plant buys.
func TestCardWithoutStock(t *testing.T) {
	p := shop()
	for n := 1; n <= 5; n++ {
		p.lot(n, func(l *heat.Lot) { l.Received = 0 })
	}
	c, _ := scan.CardOf(p, rules(), "S1", bundle(11))
	require.Equal(t, []scan.Want{{Bundle: bundle(11), Length: 10 * bar.Foot, Pieces: 12}}, c.Short)
	require.Len(t, c.Plan, 1)
	require.Zero(t, c.Plan[0].Lot)
	require.Equal(t, 2, c.Plan[0].Bars)
	require.Empty(t, c.Bring)
}
