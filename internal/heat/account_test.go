package heat_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// books are made up by hand.
type books struct {
	lots map[tags.Number]heat.Lot
	runs map[uint64]heat.Worked
}

func (b books) Lot(n tags.Number) (heat.Lot, bool) { l, ok := b.lots[n]; return l, ok }

func (b books) Worked(run uint64) (heat.Worked, bool) { w, ok := b.runs[run]; return w, ok }

func (b books) account(asked func(heat.Lot) heat.Share, families ...[]heat.Tied) heat.Account {
	k := heat.Reckon(b, asked)
	for _, l := range b.lots {
		k.Lot(l)
	}
	for _, w := range b.runs {
		k.Run(w)
	}
	for _, f := range families {
		k.Family(f...)
	}
	return k.Account()
}

// A worked example. Lot 1 (H1, ten bars of 60') gives run 7 alone two bars: 20 pieces of 5', a remnant of
// 15' and 5' of scrap. With lot 2 (H2) it gives run 8 one bar each: 24 pieces of 5'.
func TestAccount(t *testing.T) {
	const foot = bar.Foot
	five := bar.Steel{Size: "#5", Spec: "A615", Grade: "60"}
	b := books{
		lots: map[tags.Number]heat.Lot{
			1: {Number: 1, Mill: "M", Heats: []string{"H1"}, Steel: five, Length: 60 * foot, Received: 10, Taken: 3, Feed: "S1/A"},
			2: {Number: 2, Mill: "M", Heats: []string{"H2"}, Steel: five, Length: 60 * foot, Received: 4, Taken: 1, Counted: -1},
			3: {Number: 3, Steel: five, Length: 15 * foot, Received: 1, Run: 7, Parents: []tags.Number{1}},
		},
		runs: map[uint64]heat.Worked{
			7: {Run: 7, Size: "#5", Lots: []tags.Number{1}, Closed: true, Draws: []event.Draw{{Lot: 1, Bars: 2}}, Scrap: 5 * foot,
				Made: []heat.Made{{Bundle: 71, Pieces: 20, Length: 5 * foot}}},
			8: {Run: 8, Size: "#5", Lots: []tags.Number{1, 2}, Closed: true, Draws: []event.Draw{{Lot: 1, Bars: 1}, {Lot: 2, Bars: 1}},
				Made: []heat.Made{{Bundle: 81, Pieces: 24, Length: 5 * foot}}},
		},
	}
	// Of the first bundle three pieces are lost, and five were parted off and have left.
	first := []heat.Tied{
		{Number: 71, State: "ready", Pieces: 12, Lost: 3, Length: 5 * foot, Runs: []uint64{7}},
		{Number: 72, State: "left", Pieces: 5, Length: 5 * foot, Runs: []uint64{7}},
	}
	second := []heat.Tied{{Number: 81, State: "ready", Pieces: 24, Length: 5 * foot, Runs: []uint64{8}}}
	feet := func(rows []heat.Row) map[string]int {
		out := map[string]int{}
		for _, r := range rows {
			out[r.What] = int(r.Length / foot)
		}
		return out
	}
	one := b.account(func(l heat.Lot) heat.Share {
		if len(l.Heats) > 0 && l.Heats[0] == "H1" {
			return heat.Whole
		}
		return heat.None
	}, first, second)
	require.Equal(t, map[string]int{heat.Received: 600}, feet(one.Bars.In))
	require.Equal(t, map[string]int{
		heat.OnFeeds: 420, heat.Remnants: 15, heat.Scrapped: 5, heat.LostCount: 15, "ready": 60, "left": 25, heat.Shared: 60,
	}, feet(one.Bars.Out))
	require.Zero(t, one.Bars.Over)
	require.Equal(t, 120, feet(one.MayBe)["ready"])
	// ASTM A615 Table 1: #5 is 1.043 lb/ft; 600 ft weigh 625.8 lb, and 94 % of that 588.252.
	require.InDelta(t, 625.8*0.45359237, one.Nominal.Kilograms(), 1e-6)
	require.InDelta(t, 588.252*0.45359237, one.Least.Kilograms(), 1e-6)

	all := b.account(nil, first, second)
	require.Equal(t, map[string]int{heat.Received: 840, heat.YardCount: -60}, feet(all.Bars.In))
	require.Equal(t, map[string]int{
		heat.OnFeeds: 420, heat.OnHand: 120, heat.Remnants: 15, heat.Scrapped: 5, heat.LostCount: 15, "ready": 180, "left": 25,
	}, feet(all.Bars.Out))
	require.Zero(t, all.Bars.Over)
	require.Empty(t, all.MayBe)
}

// Coil is counted by mass: 1000 kg came in, 400 were drawn with 1 missing, 390 are in pieces and 11 are scrap.
func TestAccountOfCoil(t *testing.T) {
	const kg = bar.Kilogram
	b := books{
		lots: map[tags.Number]heat.Lot{1: {Number: 1, Mill: "M", Heats: []string{"H1"}, Steel: bar.Steel{Size: "#4"}, Mass: 1000 * kg, MassTaken: 400 * kg}},
		runs: map[uint64]heat.Worked{7: {Run: 7, Size: "#4", Lots: []tags.Number{1}, Closed: true, Coils: []event.MassDraw{{Lot: 1, Mass: 400 * kg}},
			CoilScrap: 11 * kg, Lacks: 1 * kg, Made: []heat.Made{{Bundle: 71, Pieces: 30, Length: bar.Foot}}}},
	}
	a := b.account(nil, []heat.Tied{{Number: 71, State: "ready", Pieces: 29, Lost: 1, Length: bar.Foot, Runs: []uint64{7}}})
	out := map[string]bar.Mass{}
	for _, r := range a.Coil.Out {
		out[r.What] = r.Mass
	}
	require.Equal(t, map[string]bar.Mass{heat.OnHand: 600 * kg, heat.Scrapped: 11 * kg, heat.LostCount: 13 * kg, "ready": 377 * kg}, out)
	require.Zero(t, a.Coil.Over)
	require.Empty(t, a.Bars.Out)
}

// A bundle may be made from bars at one shear and from coil at another: 6 pieces of 10 ft from a 60 ft bar,
// and 2 from 40 kg of coil, of which 2 are scrap. One piece was lost.
func TestAccountOfBarsAndCoil(t *testing.T) {
	const kg = bar.Kilogram
	b := books{
		lots: map[tags.Number]heat.Lot{
			1: {Number: 1, Length: 60 * bar.Foot, Received: 1, Taken: 1, Steel: bar.Steel{Size: "#4"}},
			2: {Number: 2, Mass: 40 * kg, MassTaken: 40 * kg, Steel: bar.Steel{Size: "#4"}},
		},
		runs: map[uint64]heat.Worked{
			7: {Run: 7, Size: "#4", Lots: []tags.Number{1}, Closed: true, Draws: []event.Draw{{Lot: 1, Bars: 1}}, Made: []heat.Made{{Bundle: 71, Pieces: 6, Length: 10 * bar.Foot}}},
			8: {Run: 8, Size: "#4", Lots: []tags.Number{2}, Closed: true, Coils: []event.MassDraw{{Lot: 2, Mass: 40 * kg}}, CoilScrap: 2 * kg, Made: []heat.Made{{Bundle: 71, Pieces: 2, Length: 10 * bar.Foot}}},
		},
	}
	a := b.account(nil, []heat.Tied{{Number: 71, State: "ready", Pieces: 7, Lost: 1, Length: 10 * bar.Foot, Runs: []uint64{7, 8}}})
	require.Zero(t, a.Bars.Over)
	require.Zero(t, a.Coil.Over)
	lengths, masses := map[string]bar.Length{}, map[string]bar.Mass{}
	for _, r := range a.Bars.Out {
		lengths[r.What] = r.Length
	}
	for _, r := range a.Coil.Out {
		masses[r.What] = r.Mass
	}
	require.Equal(t, map[string]bar.Length{heat.LostCount: 10 * bar.Foot, "ready": 50 * bar.Foot}, lengths)
	require.Equal(t, map[string]bar.Mass{heat.Scrapped: 2 * kg, "ready": 38 * kg}, masses)
}
