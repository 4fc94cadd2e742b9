package view_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/load"
	"tagd/internal/store"
	"tagd/internal/tags"
)

// TestPlans: what is planned where, and what follows a bundle onto its stop. A plan that was written
// before plans said the stop of each bundle puts a bundle at the first stop for its job.
func TestPlans(t *testing.T) {
	other := number(tags.Load, 2)
	line := func(job string, first int) event.LineTaken {
		return event.LineTaken{Job: job, List: "1", Mark: "A", Steel: five, Length: 10 * bar.Foot, Pieces: 20, Route: []string{"cut"}, First: bundle(first), Bundles: []int{10, 10}}
	}
	db, v := made(t,
		event.JobSet{Job: "J"}, line("J", 1), line("K", 3),
		event.LoadPlanned{Load: truck, Stops: []event.Stop{{Job: "K"}, {Job: "J"}, {Job: "J"}}, Bundles: []tags.Number{bundle(2), bundle(1), bundle(3)}},
		// 7 of 10 were cut: the rest is bundle 5, for the same stop. Three more are lost, and owed as bundle 6.
		event.LotReceived{Lot: lot(1), Mill: "M", Steel: five, Length: 60 * bar.Foot, Bars: 10},
		event.RunOpened{Station: "S1", Bundle: bundle(1), Lots: []tags.Number{lot(1)}},
		event.CutDone{Run: 5, Bundle: bundle(1), Pieces: 7, Asked: 10, Rest: bundle(5), Owed: 3, Closed: &event.RunClosed{Steel: five}},
		event.PiecesLost{Bundle: bundle(1), Pieces: 7, Rest: bundle(6), Owed: 7, Why: event.Miscut},
		event.LoadSet{Load: other, Stops: []event.LoadStop{{Job: "J"}, {Processor: "Coater", Bundles: []tags.Number{bundle(4), bundle(2)}}},
			Was: []event.WasPlanned{{Bundle: bundle(4)}, {Bundle: bundle(2), Load: truck, Stop: 2}}},
		event.BundleVoided{Bundle: bundle(3), Reason: "revised"},
	)
	require.NoError(t, db.View(func(tx store.Tx) error {
		p := v.At(tx)
		require.Equal(t, []load.Spot{{Bundle: bundle(5), Stop: 1, At: 1}, {Bundle: bundle(6), Stop: 1, At: 1}}, p.Spots(truck))
		require.Equal(t, []tags.Number{bundle(4), bundle(2)}, p.PlannedOn(other))
		for n, want := range map[tags.Number]int{truck: 2, other: 2} {
			l, _ := p.Load(n)
			require.Equal(t, want, l.Planned)
		}
		plan, here := p.LoadPlan(other)
		require.True(t, here)
		require.Equal(t, event.LoadSet{Load: other, Stops: []event.LoadStop{{Job: "J"}, {Processor: "Coater", Bundles: []tags.Number{bundle(4), bundle(2)}}}}, plan)

		l, _ := p.Load(truck)
		for n, want := range map[int]int{5: 1, 2: 1, 4: 0} { // 2 and 4 are planned elsewhere: the first stop for their job
			b, _ := p.Bundle(bundle(n))
			require.Equal(t, want, p.StopOf(l, b), "bundle %d", n)
		}
		to, ok := p.ToPlan(bundle(2))
		require.True(t, ok)
		require.Equal(t, load.Bundle{Number: bundle(2), Line: load.Line{Job: "J", List: "1", Mark: "A"}, Load: other, Stop: 1}, to)
		require.Len(t, p.ToPlanOf(load.Line{Job: "J", List: "1"}), 4)
		require.Empty(t, p.ToPlanOf(load.Line{Job: "J", List: "1", Mark: "B"}))
		gone, _ := p.ToPlan(bundle(3))
		require.Equal(t, "is voided", gone.Gone)
		return nil
	}))
}
