package rest_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/api"
)

// A mill's paper comes before the truck: its lots have numbers and tags, are nothing on hand, and come
// bundle by bundle.
func TestExpectedLots(t *testing.T) {
	s := openShop(t)
	_, err := s.Place(s.ctx, api.MakePlace{Name: "A-14"})
	require.NoError(t, err)
	paper := []byte("mill,heats,size,length,bars,mill_bundles,weight,mill_coils,date\n" +
		"Example Mill,0123,#5,60',60,M1=20|M2=20|M3=20,,,2026-11-20\n" +
		"Example Mill,9001,#4,,,,2000 kg,C1=900 kg|C2=1100 kg,2999-01-01\n")
	dry, err := s.ImportStock(s.ctx, "paper.csv", paper, api.StockOptions{As: "expect", DryRun: true})
	require.NoError(t, err)
	require.Equal(t, []any{uint64(0), true, 2, "", 60}, []any{dry.Seq, dry.DryRun, len(dry.Lots), dry.Lots[0].Number, dry.Lots[0].Paper.Bars})
	got, err := s.ImportStock(s.ctx, "paper.csv", paper, api.StockOptions{As: "expect", By: api.By{Key: "paper"}})
	require.NoError(t, err)
	bars, coil := got.Lots[0], got.Lots[1]
	require.Equal(t, []any{0, 60, "short", "expected"}, []any{bars.OnHand, bars.Paper.Bars, bars.Paper.State, coil.Paper.State}, "the day of the first is past")
	again, err := s.ImportStock(s.ctx, "paper.csv", paper, api.StockOptions{As: "expect", By: api.By{Key: "paper"}})
	require.NoError(t, err)
	require.True(t, again.Again)
	_, err = s.ImportStock(s.ctx, "paper.csv", paper, api.StockOptions{As: "receive"})
	require.ErrorContains(t, err, "came in already")
	one, err := s.Expect(s.ctx, api.Expect{Receive: api.Receive{Mill: "Example Mill", Size: "#5", Length: "40'", Bars: 10}, Date: "2026-13-01"})
	require.ErrorContains(t, err, "is no day")
	require.Empty(t, one.Lots)

	// Two of three bundles are scanned, the third is counted short by the office.
	require.Equal(t, "accepted: place opened", verdict(s.at("Y1", placeNumber(t, s, "A-14"))))
	require.Equal(t, "accepted: confirmed", verdict(s.at("Y1", "M1")))
	require.Equal(t, "accepted: confirmed", verdict(s.at("Y1", "M3")))
	late, err := s.Stock(s.ctx, api.StockFilter{State: "short"}, "", 0)
	require.NoError(t, err)
	require.Len(t, late.Stock, 1)
	still, err := s.Stock(s.ctx, api.StockFilter{State: "expected"}, "", 0)
	require.NoError(t, err)
	require.Len(t, still.Stock, 2, "what is late is expected too")
	require.Equal(t, []any{bars.Number, 40, "A-14"}, []any{late.Stock[0].Number, late.Stock[0].OnHand, late.Stock[0].Place.Name})
	n := 18
	a, err := s.Confirm(s.ctx, bars.Number, api.Confirm{Number: "M2", Bars: &n, Note: "two bars bent"})
	require.NoError(t, err)
	require.Equal(t, []any{"check", "confirmed all", "paper differs", 58, "short"}, []any{a.Verdict, a.Notes[0].Code, a.Notes[1].Code, a.Lot.OnHand, a.Lot.Paper.State})
	_, err = s.Confirm(s.ctx, bars.Number, api.Confirm{Number: "M2"})
	require.ErrorContains(t, err, "was confirmed already")
	a, err = s.Confirm(s.ctx, coil.Number, api.Confirm{Weight: "1990 kg", Last: true})
	require.NoError(t, err)
	require.Equal(t, []any{"check", 1990.0}, []any{a.Verdict, a.Lot.ReceivedKG})
	rest, err := s.Stock(s.ctx, api.StockFilter{State: "expected"}, "", 0)
	require.NoError(t, err)
	require.Empty(t, rest.Stock)

	// What is cut before anybody receives it has come all the same.
	got, err = s.Expect(s.ctx, api.Expect{Receive: api.Receive{Mill: "Example Mill", Heats: []string{"7"}, Size: "#5", Length: "60'", Bars: 20}})
	require.NoError(t, err)
	require.Equal(t, "check: charged", verdict(s.at("S1", got.Lots[0].Number)))
	lot, err := s.Lot(s.ctx, got.Lots[0].Number)
	require.NoError(t, err)
	require.Equal(t, []any{20, "here"}, []any{lot.OnHand, lot.Paper.State})
}

// The yard at go-live: places are made with it, and what is known of mill and heat comes later.
func TestGoLive(t *testing.T) {
	s := openShop(t)
	yard := []byte("mill,heats,size,length,bars,place\n,,#5,60',40,Row 1\nExample Mill,,#8,40',12,Row 1\nExample Mill,77,#5,20',9,Row 2\n")
	_, err := s.ImportStock(s.ctx, "yard.csv", yard, api.StockOptions{})
	require.ErrorContains(t, err, "there is no place Row 1")
	dry, err := s.ImportStock(s.ctx, "yard.csv", yard, api.StockOptions{As: "go-live", DryRun: true})
	require.NoError(t, err)
	require.Equal(t, []any{[]string{"Row 1", "Row 2"}, 3, 0}, []any{dry.Places, len(dry.Lots), len(dry.Faults)})
	got, err := s.ImportStock(s.ctx, "yard.csv", yard, api.StockOptions{As: "go-live"})
	require.NoError(t, err)
	require.Equal(t, []string{"Row 1", "Row 2"}, got.Places)
	require.Equal(t, []any{"unknown", "", "Row 1"}, []any{got.Lots[0].Certainty, got.Lots[0].Mill, got.Lots[0].Place.Name})
	_, err = s.ImportStock(s.ctx, "yard.csv", []byte("mill,heats,size,length,bars,place\n,1,#5,60',40,Row 3\n,,#5,60',0,Row 4\n"), api.StockOptions{As: "go-live"})
	var p *api.Problem
	require.ErrorAs(t, err, &p)
	require.Equal(t, []string{"row 2, mill", "row 3, bars"}, []string{p.Errors[0].Location, p.Errors[1].Location}, "a heat needs its mill")
	places, err := s.Places(s.ctx, "", 0)
	require.NoError(t, err)
	require.Len(t, places.Places, 2, "nothing of a file at fault is recorded")
}

// A heat that is added, or found to be wrong weeks later, is one event; the answer says all that it
// touches and what breaks a rule by now, and the trace has it at once.
func TestHeatLater(t *testing.T) {
	s := openShop(t)
	_, err := s.SetJob(s.ctx, "26-014", api.SetJob{JobRules: api.JobRules{Certs: "on file"}})
	require.NoError(t, err)
	taken, err := s.TakeList(s.ctx, "alder.csv", []byte(list), api.ListOptions{Job: "26-014", List: "1"})
	require.NoError(t, err)
	b := taken.Lines[0].Bundles[0]
	got, err := s.ImportStock(s.ctx, "yard.csv", []byte("mill,size,length,bars\n,#5,60',100\n"), api.StockOptions{As: "go-live"})
	require.NoError(t, err)
	lot := got.Lots[0].Number
	s.at("S1", lot)
	s.at("S1", b)
	require.Equal(t, "accepted: cut done", verdict(s.at("S1", b, func(x *api.Scan) { x.Pieces = 40 })))
	_, err = s.SetHeats(s.ctx, lot, api.SetHeats{Heats: []string{"0123"}, Reason: "read from the bundle"})
	require.ErrorContains(t, err, "mill")
	set, err := s.SetHeats(s.ctx, lot, api.SetHeats{Mill: "Example Mill", Heats: []string{"0123"}, Reason: "read from the bundle"})
	require.NoError(t, err)
	require.Equal(t, []any{[]string{b}, []string{"26-014"}, "certain"}, []any{set.Bundles, set.Jobs, string(set.Lot.Certainty)})
	require.Len(t, set.Broken, 1)
	require.Equal(t, []any{b, "Job 26-014 asks for mill certs on file; heat 0123 has none for #5."}, []any{set.Broken[0].Bundle, set.Broken[0].Says})
	tr, err := s.Trace(s.ctx, "0123")
	require.NoError(t, err)
	require.Equal(t, b, tr.Bundles[0].Number)

	_, err = s.FileCert(s.ctx, api.FileCert{Mill: "Example Mill", Heat: "0124", Sizes: []string{"#5"}, Type: "MTR"}, "", nil)
	require.NoError(t, err)
	set, err = s.SetHeats(s.ctx, lot, api.SetHeats{Heats: []string{"0124"}, Reason: "the mill sent another cert"})
	require.NoError(t, err)
	require.Empty(t, set.Broken)
	tr, err = s.Trace(s.ctx, "0123")
	require.NoError(t, err)
	require.Empty(t, tr.Bundles)
	tr, err = s.Trace(s.ctx, "0124")
	require.NoError(t, err)
	require.Len(t, tr.Bundles, 1)
}

// A count is the record from then on, and stands in the lot's account.
func TestCountYard(t *testing.T) {
	s := openShop(t)
	got, err := s.ImportStock(s.ctx, "yard.csv", []byte("mill,size,length,bars,weight,place\nM,#5,60',40,,Row 1\nM,#5,40',12,,Row 1\nM,#4,,,900 kg,Row 1\n"), api.StockOptions{As: "go-live"})
	require.NoError(t, err)
	one, two, coil := got.Lots[0].Number, got.Lots[1].Number, got.Lots[2].Number
	since, err := s.Stock(s.ctx, api.StockFilter{NotCountedSince: "2999-01-01"}, "", 0)
	require.NoError(t, err)
	require.Len(t, since.Stock, 3)
	a, err := s.CountLot(s.ctx, one, api.CountLot{Bars: 38})
	require.NoError(t, err)
	require.Equal(t, []any{"check", "counted otherwise", 38, -2}, []any{a.Verdict, a.Notes[0].Code, a.Lot.OnHand, a.Lot.Counted})
	require.NotNil(t, a.Lot.CountedAt)
	require.Equal(t, "accepted: counted", verdict(s.at("Y1", one, func(x *api.Scan) { x.Do, x.Pieces = "count", 38 })))
	sheet := "number,bars,weight,place\n" + one + ",40,,\n" + two + ",12,,Row 1\n" + coil + ",,880 kg,\n"
	c, err := s.CountYard(s.ctx, "count.csv", []byte(sheet), api.By{Key: "count"})
	require.NoError(t, err)
	require.Equal(t, []any{3, 2, one, 40, coil}, []any{c.Counted, c.Differing, c.Lots[0].Number, c.Lots[0].OnHand, c.Lots[1].Number})
	checks, err := s.Open(s.ctx, api.OpenFilter{}, "", 10)
	require.NoError(t, err)
	require.Len(t, checks.Open, 2)
	for _, c := range []struct{ rows, want string }{
		{one + ",1,,\n" + one + ",2,,\n", "stands in two rows"}, {"2-001-00000077-74,1,,\n", "number"}, {one + ",,,\n", "bars"},
		{one + ",,5 lb,\n", "and the lot is the other one"}, {one + ",5,,Row 9\n", "there is no place Row 9"}, {"x,5,,\n", "is no number of a lot"}, {one + ",5,5 lb,\n", "beside a weight"}, {"", "no rows"},
	} {
		_, err := s.CountYard(s.ctx, "count.csv", []byte("number,bars,weight,place\n"+c.rows), api.By{})
		require.ErrorContains(t, err, c.want)
	}
	_, err = s.CountYard(s.ctx, "", []byte("number,bars\n"), api.By{})
	require.ErrorContains(t, err, "counts was not taken: ", "a file without a name")
	lot, err := s.Lot(s.ctx, two)
	require.NoError(t, err)
	require.Equal(t, 12, lot.OnHand)
}

// placeNumber finds a place by its name.
func placeNumber(t *testing.T, s *shop, name string) string {
	places, err := s.Places(s.ctx, "", 0)
	require.NoError(t, err)
	for _, p := range places.Places {
		if p.Name == name {
			return p.Number
		}
	}
	t.Fatalf("no place %s", name)
	return ""
}
