package rest_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/api"
)

// A whole thread through the API: a bar list to a truck to a recall.
func TestThread(t *testing.T) {
	s := openShop(t)
	_, err := s.SetJob(s.ctx, "26-014", api.SetJob{JobRules: api.JobRules{Name: "Alder Creek Bridge", Heats: "single"}})
	require.NoError(t, err)

	taken, err := s.TakeList(s.ctx, "alder.csv", []byte(list), api.ListOptions{Job: "26-014", List: "1"})
	require.NoError(t, err)
	require.Equal(t, 2, taken.Bundles)
	require.Equal(t, "#5 A615 60", taken.Lines[0].Steel.Steel)
	b1, b2 := taken.Lines[0].Bundles[0], taken.Lines[1].Bundles[0]

	got, err := s.Receive(s.ctx, api.Receive{Mill: "Example Mill", Heats: []string{"0123E5"}, Size: "#5", Length: "60'", Bars: 100})
	require.NoError(t, err)
	lot := got.Lots[0]
	require.Equal(t, "certain", lot.Certainty)

	require.Equal(t, "accepted: charged", verdict(s.at("S1", lot.Number)))
	require.Equal(t, "refused: not cut yet", verdict(s.at("B1", b1)))
	a := s.at("S1", b1)
	require.Equal(t, "accepted: cut started", verdict(a))
	require.Equal(t, "4F207 1/1: cut 40 pieces at 11'-6\".", a.Says)
	require.Equal(t, "Scan the tag again when all 40 are cut.", a.Next)
	require.Equal(t, 5, a.Card.PiecesPerBar)
	require.Equal(t, []api.Heat{{Mill: "Example Mill", Heat: "0123E5"}}, a.Card.Bring[0].Heats)
	a = s.at("S1", b2)
	require.Equal(t, "accepted: cut joined", verdict(a))
	// 20 x 14' and 40 x 11'-6": five bars of 4 x 14' leave 4', eight of 5 x 11'-6" leave 2'-6".
	require.Equal(t, 13, a.Card.Bars)
	require.Equal(t, "accepted: cut done", verdict(s.at("S1", b2)))
	require.Equal(t, "accepted: card shown", verdict(s.at("S1", b1)))
	a = s.at("S1", b1)
	require.Equal(t, "accepted: cut done", verdict(a))
	require.Equal(t, "Print and tie its tag.", a.Notes[len(a.Notes)-1].Next)
	require.Equal(t, "accepted: step started", verdict(s.at("B1", b1)))
	require.Equal(t, "accepted: step done", verdict(s.at("B1", b1)))

	planned, err := s.PlanLoad(s.ctx, api.PlanLoad{Stops: []api.PlanStop{{Stop: api.Stop{Job: "26-014"}}}, Limit: "40,000 lb", Bundles: []string{b1, b2}})
	require.NoError(t, err)
	load := planned.Load.Number
	require.Equal(t, "refused: no load open", verdict(s.at("L1", b1)))
	require.Equal(t, "accepted: load opened", verdict(s.at("L1", load)))
	require.Equal(t, "accepted: loaded", verdict(s.at("L1", b1)))

	held, err := s.Hold(s.ctx, api.PutHold{Target: api.Target{Mill: "Example Mill", Heat: "0123E5"}, Reason: "cert in doubt"})
	require.NoError(t, err)
	require.Equal(t, 2, held.Inside.Bundles)
	require.Equal(t, 87+5, held.Bars) // what is left of the lot, and five ends of 4'
	require.Equal(t, "refused: held", verdict(s.at("L1", b2)))
	truck, err := s.Load(s.ctx, load)
	require.NoError(t, err)
	require.Equal(t, 1, truck.Missing)
	require.Equal(t, "cut done, S1 pocket 2", truck.Bundles[1].Where)

	gone, err := s.Ship(s.ctx, load, api.Ship{})
	require.NoError(t, err)
	require.Equal(t, "refused: held on load", verdict(gone))
	gone, err = s.Ship(s.ctx, load, api.Ship{Gone: true, By: api.By{Device: "office"}})
	require.NoError(t, err)
	require.Equal(t, "check: shipped", verdict(gone))

	tr, err := s.Trace(s.ctx, "0123E5")
	require.NoError(t, err)
	require.Equal(t, []string{"heat Example Mill 0123E5"}, tr.Found)
	require.Len(t, tr.Bundles, 2)
	require.Equal(t, "left on load "+load, tr.Bundles[0].Where)
	require.True(t, tr.Bundles[1].Held)
	require.Len(t, tr.Lots, 2)
	// ASTM A615 Table 1: #5 is 1.043 lb/ft; 40 x 11.5 ft is 479.78 lb.
	require.Equal(t, "480 lb", tr.Totals.Shipped.Weight)
	require.InDelta(t, 217.6, tr.Totals.Shipped.WeightKG, 0.05)
	job, err := s.Job(s.ctx, "26-014")
	require.NoError(t, err)
	require.Equal(t, []int{2, 2, 1, 1, 1}, []int{job.Planned.Bundles, job.Cut.Bundles, job.ToBend.Bundles, job.Bent.Bundles, job.Shipped.Bundles})

	b, err := s.Bundle(s.ctx, b1)
	require.NoError(t, err)
	require.Equal(t, []string{lot.Number}, b.Lots)
	var kinds []string
	for _, e := range b.History {
		if e.Kind != "line taken" && e.Kind != "card shown" { // told with the line, and not of the bundle alone
			kinds = append(kinds, e.Kind)
		}
	}
	require.Equal(t, []string{"scan refused", "run opened", "cut done", "step started", "step done", "load set", "scan refused",
		"loaded", "shipped"}, kinds)
}
