package rest_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/api"
)

// A charge was forgotten: what was cut is of another heat than the record has it, and balances are put
// right by one event; and back.
func TestMendCharge(t *testing.T) {
	s := openShop(t)
	taken, err := s.TakeList(s.ctx, "alder.csv", []byte(list), api.ListOptions{Job: "26-014", List: "1"})
	require.NoError(t, err)
	first, second := taken.Lines[0].Bundles[0], taken.Lines[1].Bundles[0] // 40 of 11'-6", bent; 20 of 14'
	_, err = s.SetJob(s.ctx, "26-014", api.SetJob{JobRules: api.JobRules{Heats: "single"}})
	require.NoError(t, err)
	receive := func(heat string, bars int) string {
		got, err := s.Receive(s.ctx, api.Receive{Mill: "Example Mill", Heats: []string{heat}, Size: "#5", Length: "60'", Bars: bars})
		require.NoError(t, err)
		return got.Lots[0].Number
	}
	one, two := receive("H1", 6), receive("H2", 50)
	onHand := func() (out []int) {
		for _, n := range []string{one, two} {
			l, err := s.Lot(s.ctx, n)
			require.NoError(t, err)
			out = append(out, l.OnHand)
		}
		return out
	}
	// 20 pieces of 14' are five bars of 60', four from each; 40 of 11'-6" are eight, five from each. The
	// first lot had six: seven are a count difference.
	s.at("S1", one)
	require.Equal(t, "accepted: cut started", verdict(s.at("S1", second)))
	s.at("S1", second)
	load, err := s.PlanLoad(s.ctx, api.PlanLoad{Stops: []api.PlanStop{{Stop: api.Stop{Job: "26-014"}}}, Limit: "40,000 lb"})
	require.NoError(t, err)
	s.at("L1", load.Load.Number)
	require.Equal(t, "accepted: loaded", verdict(s.at("L1", second)))
	s.at("L1", load.Load.Number, func(x *api.Scan) { x.Do = "ship" })
	s.at("S1", first)
	a := s.at("S1", first)
	require.Equal(t, "check", a.Verdict)
	require.Equal(t, []int{0, 50}, onHand())

	runs, err := s.Runs(s.ctx, api.RunFilter{Station: "S1"}, "", 0)
	require.NoError(t, err)
	require.Len(t, runs.Runs, 2)
	r1, r2 := runs.Runs[0], runs.Runs[1]
	require.Equal(t, []any{[]string{one}, []api.Drew{{Lot: one, Bars: 5}}, "certain", second}, []any{r1.Lots, r1.Drawn, r1.Certainty, r1.Members[0].Bundle})
	require.Equal(t, []api.Drew{{Lot: one, Bars: 8, Over: 7}}, r2.Drawn)
	none, err := s.Runs(s.ctx, api.RunFilter{Station: "S1", From: "2026-11-26"}, "", 0)
	require.NoError(t, err)
	require.Empty(t, none.Runs)
	page, err := s.Runs(s.ctx, api.RunFilter{From: "2026-11-25 06:00", To: "2026-11-25"}, "", 1)
	require.NoError(t, err)
	require.Len(t, page.Runs, 1)
	page, err = s.Runs(s.ctx, api.RunFilter{}, page.Next, 1)
	require.NoError(t, err)
	require.Equal(t, r2.Seq, page.Runs[0].Seq)
	_, err = s.Runs(s.ctx, api.RunFilter{From: "noon"}, "", 0)
	require.ErrorContains(t, err, "is no run and no time")
	_, err = s.Runs(s.ctx, api.RunFilter{Station: "S9"}, "", 0)
	require.ErrorContains(t, err, "not in the plant's settings")

	// It is found that the second lot lay there all day.
	ask := api.MendCharge{Station: "S1", Feed: "A", Lot: two, From: "2026-11-25", Reason: "its tag hung on the feed", DryRun: true}
	dry, err := s.MendCharge(s.ctx, ask)
	require.NoError(t, err)
	require.EqualValues(t, 0, dry.Seq)
	require.Equal(t, []int{0, 50}, onHand(), "nothing is recorded")
	ask.DryRun, ask.Key = false, "mend 1"
	got, err := s.MendCharge(s.ctx, ask)
	require.NoError(t, err)
	require.Equal(t, dry.Runs, got.Runs)
	require.Equal(t, []any{2, []string{one}, []string{one, two}}, []any{len(got.Runs), got.Runs[1].Before, got.Runs[1].After})
	require.Equal(t, []api.Drew{{Lot: one, Bars: 1}, {Lot: two, Bars: 7}}, got.Runs[1].Is.Drawn, "what the first lot did not have was of the second")
	require.Equal(t, []int{0, 43}, onHand())
	require.Equal(t, []any{"check", []string{first, second}, []string{second}, []string{load.Load.Number}, []string{"26-014"}},
		[]any{got.Verdict, got.Bundles, got.Left, got.Loads, got.Jobs})
	require.Equal(t, []string{first, second}, got.Against, "the job wants one heat in a bundle")
	again, err := s.MendCharge(s.ctx, ask)
	require.NoError(t, err)
	require.Equal(t, []any{got.Seq, true, got.Bundles, got.Notes}, []any{again.Seq, again.Again, again.Bundles, again.Notes})

	// Everything follows: the trace, the bundle's history, the checks.
	tr, err := s.Trace(s.ctx, "H2")
	require.NoError(t, err)
	require.Len(t, tr.Bundles, 2)
	require.Equal(t, "one of", tr.Bundles[0].Certainty)
	b, err := s.Bundle(s.ctx, second)
	require.NoError(t, err)
	require.Equal(t, "charge mended", b.History[len(b.History)-1].Kind)
	require.Equal(t, []string{one, two}, b.Lots)

	// The bundle that is here is taken back: its run opens as it was mended, and closes anew by it.
	_, err = s.Undo(s.ctx, first, api.Because{Reason: "count again"})
	require.NoError(t, err)
	require.Equal(t, []int{1, 50}, onHand())
	s.at("S1", first)
	require.Equal(t, []int{0, 43}, onHand())

	// Taken back by its opposite.
	ask.Not, ask.Key, ask.Feed = true, "", ""
	_, err = s.MendCharge(s.ctx, ask)
	require.NoError(t, err)
	require.Equal(t, []int{0, 50}, onHand())
	_, err = s.MendCharge(s.ctx, ask)
	require.ErrorContains(t, err, "finds no run")
	for field, bad := range map[string]api.MendCharge{
		"lot": {Station: "S1", Lot: "x", From: "1"}, "from": {Station: "S1", Lot: two}, "bars": {Station: "S1", Lot: two, Runs: []uint64{r1.Seq}, Bars: []api.Drawn{{Lot: "x", Bars: 1}}},
		"runs": {Station: "S1", Lot: two, Runs: []uint64{r1.Seq}, From: "1"}, "reason": {Station: "S1", Lot: two, Runs: []uint64{r1.Seq}},
	} {
		_, err = s.MendCharge(s.ctx, bad)
		require.ErrorContains(t, err, field)
	}
}
