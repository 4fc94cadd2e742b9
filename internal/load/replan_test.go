package load_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/load"
)

// TestReplan: a plan as it stands is changed in place: bundles go to another stop or off it, stops change
// places with all that is planned for them, and a stop that is not there is refused.
func TestReplan(t *testing.T) {
	stands := func() load.Plan {
		return load.Restate(event.LoadSet{Load: truck(1), Date: "2026-11-30", Leaves: "06:30", Truck: "T-7", Trailer: "F-2", Limit: 9, Stops: []event.LoadStop{
			{Job: "J", ShipTo: []string{"1 Example Rd"}, Contact: "A", From: "07:00", Until: "09:00", Bundles: bundles(1, 2)},
			{Processor: "P", Step: "coat", Bundles: bundles(3)},
		}})
	}
	p := stands()
	require.Equal(t, load.Plan{Load: truck(1), Date: "2026-11-30", Leaves: "06:30", Truck: "T-7", Trailer: "F-2", Limit: 9, Stops: []load.StopPlan{
		{Stop: load.Stop{Job: "J", ShipTo: []string{"1 Example Rd"}, Contact: "A", From: "07:00", Until: "09:00"}, Bundles: bundles(1, 2)},
		{Stop: load.Stop{Processor: "P", Step: "coat"}, Bundles: bundles(3)},
	}}, p)

	require.NoError(t, p.Put(1, bundles(2, 4), []load.Line{{List: "3"}}))
	require.Equal(t, bundles(1), p.Stops[0].Bundles)
	require.Equal(t, bundles(3, 2, 4), p.Stops[1].Bundles)
	require.Equal(t, []load.Line{{List: "3"}}, p.Stops[1].Lines)
	require.NoError(t, p.Put(1, bundles(3), nil))
	require.Equal(t, bundles(2, 4, 3), p.Stops[1].Bundles, "behind the others")

	require.NoError(t, p.Swap(0, 1))
	require.Equal(t, "P", p.Stops[0].Processor)
	require.Equal(t, bundles(2, 4, 3), p.Stops[0].Bundles)
	p.Off(bundles(4, 9))
	require.Equal(t, bundles(2, 3), p.Stops[0].Bundles)
	require.NoError(t, p.Drop(0))
	require.Len(t, p.Stops, 1)
	require.Equal(t, "J", p.Stops[0].Job)

	for _, err := range []error{p.Put(1, nil, nil), p.Put(-1, nil, nil), p.Swap(0, 1), p.Swap(-1, 0), p.Drop(1)} {
		var no *event.Refusal
		require.ErrorAs(t, err, &no)
		require.Equal(t, "stop", no.Field)
	}
}
