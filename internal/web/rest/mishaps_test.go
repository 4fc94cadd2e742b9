package rest_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/api"
)

// Pieces lost, bundles split and merged, and a tag lost, from outside.
func TestMishaps(t *testing.T) {
	s := openShop(t)
	taken, err := s.TakeList(s.ctx, "alder.csv", []byte(list), api.ListOptions{Job: "26-014", List: "1"})
	require.NoError(t, err)
	b := taken.Lines[1].Bundles[0] // 20 pieces of 14', straight
	got, err := s.Receive(s.ctx, api.Receive{Mill: "Example Mill", Heats: []string{"01E5"}, Size: "#5", Length: "60'", Bars: 100})
	require.NoError(t, err)
	s.at("S1", got.Lots[0].Number)
	s.at("S1", b)

	// Two are miscut while it is cut; one is taken for a test. 20 pieces were cut, four from a bar: five bars.
	require.Equal(t, "refused: no such loss", verdict(s.at("S1", b, func(x *api.Scan) { x.Do, x.Pieces, x.Why = "lost", 2, "bent" })))
	require.Equal(t, "accepted: pieces lost", verdict(s.at("S1", b, func(x *api.Scan) { x.Do, x.Pieces, x.Why = "lost", 2, "miscut" })))
	s.at("S1", b)
	lot, err := s.Lot(s.ctx, got.Lots[0].Number)
	require.NoError(t, err)
	require.Equal(t, 95, lot.OnHand)
	load, err := s.PlanLoad(s.ctx, api.PlanLoad{Stops: []api.PlanStop{{Stop: api.Stop{Job: "26-014"}}}, Bundles: []string{b}, Limit: "40,000 lb"})
	require.NoError(t, err)
	c, err := s.Lose(s.ctx, b, api.LosePieces{Pieces: 1, Why: "sample"})
	require.NoError(t, err)
	require.Equal(t, []any{17, 3, 1}, []any{c.Bundle.Pieces, c.Bundle.Lost, c.Bundle.Sampled})
	require.Len(t, c.Others, 1)
	require.Equal(t, []any{"1c", 1, true, "planned", load.Load.Number}, []any{c.Others[0].K, c.Others[0].Pieces, c.Others[0].Replacement, c.Others[0].State, c.Others[0].Planned})
	require.Equal(t, "pieces lost", c.Notes[0].Code)
	_, err = s.Lose(s.ctx, b, api.LosePieces{Pieces: 18, Why: "sample"})
	var p *api.Problem
	require.ErrorAs(t, err, &p)
	require.Equal(t, http.StatusUnprocessableEntity, p.Status)
	require.Contains(t, p.Detail, "18 cannot be lost")

	// Split for two trucks, and tied together again.
	c, err = s.Split(s.ctx, b, api.SplitBundle{Pieces: []int{7}, Reason: "two trucks"})
	require.NoError(t, err)
	part := c.Others[0]
	require.Equal(t, []any{10, 7, "1d", "ready", []string{b}, "certain"}, []any{c.Bundle.Pieces, part.Pieces, part.K, part.State, part.Parents, part.Certainty})
	tr, err := s.Trace(s.ctx, "01E5")
	require.NoError(t, err)
	require.Equal(t, []string{b, part.Number}, []string{tr.Bundles[0].Number, tr.Bundles[1].Number})
	require.Equal(t, 17, tr.Totals.All.Pieces)
	detail, err := s.Bundle(s.ctx, part.Number)
	require.NoError(t, err)
	var kinds []string
	for _, e := range detail.History {
		kinds = append(kinds, e.Kind)
	}
	require.Subset(t, kinds, []string{"cut done", "pieces lost", "bundle split"}, "it has its pieces' history")
	hold, err := s.Hold(s.ctx, api.PutHold{Target: api.Target{Number: b}, Reason: "x", DryRun: true})
	require.NoError(t, err)
	require.Equal(t, 1, hold.Inside.Bundles, "a hold on the one is not on what was parted from it before")
	c, err = s.Merge(s.ctx, b, api.MergeBundles{From: []string{part.Number}})
	require.NoError(t, err)
	require.Equal(t, []any{17, "voided", b, 0}, []any{c.Bundle.Pieces, c.Others[0].State, c.Others[0].Into, c.Others[0].Pieces})
	require.Equal(t, "refused: merged", verdict(s.at("L1", part.Number)))
	c, err = s.Undo(s.ctx, b, api.Because{Reason: "not yet"})
	require.NoError(t, err)
	require.Equal(t, 10, c.Bundle.Pieces)

	// A tag is lost; the bundle is found by what it looks like, and the old copy when it turns up.
	lost, err := s.LoseTag(s.ctx, api.LoseTag{Number: b, Reason: "torn off"})
	require.NoError(t, err)
	require.Equal(t, []any{1, "Print copy 2 and tie it on."}, []any{lost.Copy, lost.Notes[0].Next})
	found, err := s.Bundles(s.ctx, api.BundleFilter{Size: "#5", Length: "14'", State: "ready"}, "", 0)
	require.NoError(t, err)
	require.Len(t, found.Bundles, 2)
	_, err = s.Bundles(s.ctx, api.BundleFilter{Size: "5"}, "", 0)
	require.ErrorContains(t, err, "size")
	_, err = s.Bundles(s.ctx, api.BundleFilter{Length: "far"}, "", 0)
	require.Error(t, err)
	_, err = s.Bundles(s.ctx, api.BundleFilter{Place: "A-99"}, "", 0)
	require.Error(t, err)
	a := s.at("Y1", "HTTPS://TAGS.EXAMPLE/T/"+digits(b)+"/C1/N10", func(x *api.Scan) { x.Do = "show" })
	require.Equal(t, "check: found lying", verdict(a))
	require.Equal(t, "lost copy", a.Notes[1].Code)

	// Lost at the site: the load's papers stay as they went, and the line owes them.
	s.at("L1", load.Load.Number)
	s.at("L1", b)
	_, err = s.Lose(s.ctx, b, api.LosePieces{Pieces: 1, Why: "damaged"})
	require.ErrorContains(t, err, "Unload it")
	s.at("L1", load.Load.Number, func(x *api.Scan) { x.Do = "ship" })
	c, err = s.Lose(s.ctx, b, api.LosePieces{Pieces: 4, Why: "site"})
	require.NoError(t, err)
	require.Equal(t, []any{6, "", "lost after it left"}, []any{c.Bundle.Pieces, c.Others[0].Planned, c.Notes[2].Code})
}

func digits(n string) string {
	out := ""
	for _, c := range n {
		if c != '-' {
			out += string(c)
		}
	}
	return out
}
