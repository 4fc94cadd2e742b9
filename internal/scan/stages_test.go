package scan

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/load"
)

// The way of a bundle is told by its state; what was undone is not done, whatever the history says.
func TestStages(t *testing.T) {
	l := &Line{LineTaken: event.LineTaken{Route: []string{"cut", "bend"}}}
	at := func(ms int64, b event.Body) event.Event {
		return event.Event{Head: event.Head{Recorded: ms + 5, Happened: ms}, Body: b}
	}
	history := []event.Event{
		{Head: event.Head{Recorded: 7}, Body: l.LineTaken}, at(10, event.RunOpened{}), at(20, event.CutDone{Bundle: 1}), at(25, event.CutDone{Bundle: 2}),
		at(30, event.StepStarted{Step: "bend"}), at(40, event.StepDone{Step: "bend"}), at(50, event.Loaded{}), at(60, event.Shipped{}), at(70, event.LoadDelivered{}),
	}
	all := Stages(Bundle{Number: 1, Done: 2, Load: 4, Shipped: true}, l, load.Load{Number: 4}, load.Stop{Delivered: 9}, history)
	require.Equal(t, []Stage{
		{"planned", true, false, 7}, {"cut", true, false, 20}, {"bend", true, false, 40}, {"loaded", true, false, 50}, {"shipped", true, false, 60}, {"delivered", true, false, 70},
	}, all)
	undone := Stages(Bundle{Number: 1, Done: 1, Started: true}, l, load.Load{}, load.Stop{}, history)
	require.Equal(t, []Stage{
		{"planned", true, false, 7}, {"cut", true, false, 20}, {"bend", false, true, 30}, {"loaded", false, false, 0}, {"shipped", false, false, 0}, {"delivered", false, false, 0},
	}, undone)
	away := Stages(Bundle{Number: 1, Done: 1, Load: 4}, l, load.Load{Number: 4}, load.Stop{Processor: "Example Coaters (invented)"}, nil)
	require.Equal(t, Stage{What: "away"}, away[len(away)-1])
	require.Equal(t, Stage{What: "bend"}, away[2])
}
