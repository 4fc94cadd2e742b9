package heat_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

func TestExpect(t *testing.T) {
	good := event.LotExpected{Mill: " Example  Mill ", Heats: []string{"0123"}, Steel: bar.Steel{Size: "#5", Spec: "A615", Grade: "60"}, Length: 60 * bar.Foot,
		Bars: 40, Bundles: []event.MillBundle{{Number: "B1", Bars: 20}, {Number: "B2", Bars: 20}}, Melted: "us", Date: "2026-11-30"}
	p := yard()
	p.aliases[heat.MillAlias(mill, "OLD")] = lot(1)
	e, err := heat.Expect(p, good)
	require.NoError(t, err)
	require.Equal(t, []any{mill, "US"}, []any{e.Mill, e.Melted})
	for name, c := range map[string]struct {
		change func(*event.LotExpected)
		want   string
	}{
		"no mill":       {func(e *event.LotExpected) { e.Mill, e.Heats = "", nil }, "mill: is empty"},
		"no day":        {func(e *event.LotExpected) { e.Date = "30.11." }, "date: \"30.11.\" is no day"},
		"no bars":       {func(e *event.LotExpected) { e.Bars = 0 }, "bars: is 0"},
		"other sum":     {func(e *event.LotExpected) { e.Bars = 41 }, "hold 40 together"},
		"old bundle":    {func(e *event.LotExpected) { e.Bundles[1].Number = "OLD" }, "came in already"},
		"coil of no kg": {func(e *event.LotExpected) { e.Length, e.Bars = 0, 0 }, "weight: is missing"},
		"coil, old coil": {func(e *event.LotExpected) {
			e.Length, e.Bars, e.Mass, e.Coils = 0, 0, bar.Kilogram, []event.MillCoil{{Number: "OLD"}}
		}, "came in already"},
	} {
		bad := good
		bad.Bundles = slices.Clone(good.Bundles)
		c.change(&bad)
		_, err := heat.Expect(p, bad)
		require.ErrorContains(t, err, c.want, name)
	}
}

// TestConfirmHolds: however a lot comes, what came is the sum of what was confirmed, no bundle comes twice,
// and it closes when nothing of its paper is left, or when somebody says so.
func TestConfirmHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coil := rapid.Bool().Draw(t, "coil")
		paper := &heat.Paper{Open: true}
		var own []string
		for i := range rapid.IntRange(0, 4).Draw(t, "bundles") {
			n := rapid.IntRange(0, 9).Draw(t, "in it")
			own = append(own, string(rune('A'+i)))
			if coil {
				paper.Coils = append(paper.Coils, event.MillCoil{Number: own[i], Mass: bar.Mass(n)})
				paper.Mass += bar.Mass(n)
			} else {
				paper.Bundles = append(paper.Bundles, event.MillBundle{Number: own[i], Bars: n})
				paper.Bars += n
			}
		}
		more := rapid.IntRange(0, 9).Draw(t, "more")
		l := heat.Lot{Number: lot(1), Paper: paper}
		if coil {
			paper.Mass += bar.Mass(more)
		} else {
			l.Length, paper.Bars = bar.Foot, paper.Bars+more
		}
		var all heat.Amount
		seen := map[string]bool{}
		for range rapid.IntRange(0, 8).Draw(t, "arrivals") {
			a := heat.Arrival{Number: rapid.SampledFrom(append([]string{"", "X"}, own...)).Draw(t, "which"), Last: rapid.Float64().Draw(t, "last") > 0.9}
			if a.Counted = rapid.Bool().Draw(t, "counted"); a.Counted {
				n := rapid.IntRange(0, 20).Draw(t, "count")
				if a.Amount = (heat.Amount{Bars: n}); coil {
					a.Amount = heat.Amount{Mass: bar.Mass(n)}
				}
			}
			e, found := heat.Confirm(l, a)
			if found.Already {
				require.True(t, seen[a.Number])
				require.Equal(t, event.LotConfirmed{}, e)
				continue
			}
			require.True(t, e.Bars >= 0 && e.Mass >= 0)
			if a.Counted {
				require.Equal(t, a.Amount, heat.Amount{Bars: e.Bars, Mass: e.Mass}, "what was counted stands")
			} else if !found.Uncounted {
				require.False(t, found.Differs)
			}
			for _, b := range e.Bundles {
				require.False(t, seen[b.Number], "%s came twice", b.Number)
				seen[b.Number] = true
			}
			for _, c := range e.Coils {
				require.False(t, seen[c.Number], "%s came twice", c.Number)
				seen[c.Number] = true
			}
			all.Bars, all.Mass = all.Bars+e.Bars, all.Mass+e.Mass
			l = l.With(e)
			require.Equal(t, all, l.Came())
			left := slices.DeleteFunc(slices.Clone(own), func(n string) bool { return seen[n] })
			if len(own) > 0 && len(left) == 0 || a.Last {
				require.False(t, l.Coming(), "nothing is left to come")
			}
			if a.Number == "" && !a.Counted {
				require.False(t, l.Coming())
				require.Zero(t, l.Due())
			}
		}
	})
}

// TestCountYardHolds: after a count the record is what was counted, and the account of received and counted
// agrees with it.
func TestCountYardHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := heat.Lot{Number: lot(1), Length: bar.Foot, Received: rapid.IntRange(0, 20).Draw(t, "received"), Paper: &heat.Paper{
			Bars: rapid.IntRange(1, 40).Draw(t, "paper"), Open: rapid.Bool().Draw(t, "open")}}
		l.Taken = rapid.IntRange(0, l.Received).Draw(t, "taken")
		n := rapid.IntRange(0, 60).Draw(t, "counted")
		e, came := heat.CountYard(l, heat.Amount{Bars: n}, 0)
		if came != nil {
			require.True(t, l.Coming())
			require.LessOrEqual(t, came.Bars, l.Due().Bars)
			l = l.With(*came)
		}
		require.Equal(t, l.OnHand(), e.Record)
		l.Counted += e.Bars - e.Record
		require.Equal(t, n, l.OnHand())
	})
}

func TestStateOfPaper(t *testing.T) {
	at := func(came int, open bool, date string) heat.Lot {
		return heat.Lot{Length: bar.Foot, Received: came, Paper: &heat.Paper{Bars: 10, Open: open, Date: date}}
	}
	const today = "2026-11-25"
	for _, c := range []struct {
		lot     heat.Lot
		overdue bool
		short   bool
		due     int
	}{
		{heat.Lot{Length: bar.Foot, Received: 5}, false, false, 0},
		{at(0, true, ""), false, false, 10}, {at(4, true, today), false, false, 6}, {at(4, true, "2026-11-24"), true, true, 6},
		{at(4, false, ""), false, true, 6}, {at(10, false, "2026-11-24"), false, false, 0}, {at(12, false, ""), false, false, 0},
	} {
		require.Equal(t, []any{c.overdue, c.short, c.due}, []any{c.lot.Overdue(today), c.lot.Short(today), c.lot.Due().Bars}, "%+v", c.lot)
	}
}

func TestReadStockOfCoilAndCounts(t *testing.T) {
	lots, faults, _ := heat.ReadStock("x.csv", []byte("mill,heats,size,length,bars,weight,mill_coils,date\nM,1,#4,,,2000 kg,C1=900 kg|C2,2026-11-30\nM,2,#5,60',9,,,\n"), usual)
	require.Empty(t, faults)
	require.Equal(t, &event.CoilReceived{Mill: "M", Heats: []string{"1"}, Steel: bar.Steel{Size: "#4", Spec: "A615", Grade: "60"}, Mass: 2000 * bar.Kilogram,
		Coils: []event.MillCoil{{Number: "C1", Mass: 900 * bar.Kilogram}, {Number: "C2"}}}, lots[0].Coil)
	require.Equal(t, []any{2000 * bar.Kilogram, "2026-11-30"}, []any{lots[0].Expected().Mass, lots[0].Expected().Date})
	require.Equal(t, []any{60 * bar.Foot, 9}, []any{lots[1].Expected().Length, lots[1].Expected().Bars})
	_, faults, _ = heat.ReadStock("x.csv", []byte("mill,size,length,bars,weight,mill_coils\nM,#4,60',9,2000 kg,\nM,#4,,,x,C1=y\nM,#4,,,,C1\n"), usual)
	var at []string
	for _, f := range faults {
		at = append(at, f.Field)
	}
	require.Equal(t, []string{"length", "bars", "weight", "mill_coils", "length", "bars", "weight"}, at)

	counts, faults, _ := heat.ReadCount("x.csv", []byte("lote;barras;peso;lugar\n"+lot(7).String()+";12;;Row 1\n"+lot(8).Digits()+";;900 kg;\n"))
	require.Empty(t, faults)
	require.Equal(t, []heat.CountRow{{Row: 2, Number: lot(7), Amount: heat.Amount{Bars: 12}, Place: "Row 1"}, {Row: 3, Number: lot(8), Amount: heat.Amount{Mass: 900 * bar.Kilogram}}}, counts)
}

// FuzzReadCount: any bytes are read or refused, and what is read without fault is whole.
func FuzzReadCount(f *testing.F) {
	f.Add([]byte("number,bars,weight,place\n2-001-00000001-16,3,,Row 1\n20010000000213,,5 lb,\n"))
	f.Add([]byte("number;bars\n1;x\n"))
	f.Add([]byte("\xff\xfe"))
	f.Fuzz(func(t *testing.T, data []byte) {
		counts, faults, _ := heat.ReadCount("x", data)
		if len(counts) == 0 && len(faults) == 0 {
			t.Error("neither counts nor faults")
		}
		for _, c := range counts {
			if len(faults) == 0 && (c.Number.Kind() != tags.Stock || c.Bars != 0 && c.Mass != 0) {
				t.Errorf("a count that is not whole: %+v", c)
			}
		}
	})
}
