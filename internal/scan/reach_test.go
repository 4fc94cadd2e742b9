package scan_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/load"
	"tagd/internal/scan"
)

// TestReachOf: how far what is planned has come, where it lies and what is to be done next; what goes to a
// coater needs no more here than the steps before his; what is voided is not counted.
func TestReachOf(t *testing.T) {
	p := shop()
	p.stops(truck, load.Stop{Job: "J"}, load.Stop{Processor: coater, Step: "bend"})
	p.plan(truck, 0, bundle(11), bundle(51), bundle(21), bundle(22))
	p.plan(truck, 1, bundle(12))
	p.plan(truck, 0, bundle(31))
	p.done("S1", []int{1}, bundle(11), bundle(12), bundle(21), bundle(22))
	p.lies("S1", "2", bundle(11))
	p.change(bundle(21), func(b *scan.Bundle) { b.Place, b.Trip = bay, &scan.Trip{Staged: truck} })
	p.onto(truck, bundle(22), false)
	p.change(bundle(31), func(b *scan.Bundle) { b.Voided = true })
	p.onto(truck, bundle(41), false)
	p.hold(event.Target{Number: bundle(51)})

	all := scan.ReachOf(p, rules(), p.loads[truck])
	type got struct {
		serial, stop int
		reach        scan.Reach
		place, next  string
		held         bool
	}
	var have []got
	for _, r := range all {
		have = append(have, got{r.Bundle.Number.Serial(), r.Stop, r.Reach, r.Place, r.Next, r.Held != nil})
	}
	name, _ := p.Place(bay)
	require.Equal(t, []got{
		{11, 0, scan.IsCut, "S1 / 2", "bend", false},
		{51, 0, scan.NotCut, "", "cut", true},
		{21, 0, scan.IsStaged, name, "", false},
		{22, 0, scan.IsLoaded, truck.String(), "", false},
		{12, 1, scan.IsMade, "S1", "", false},
		{41, 0, scan.IsLoaded, truck.String(), "", false},
	}, have)
	require.True(t, all[5].Extra, "nobody planned it")
	require.False(t, all[4].Extra)

	whole, each := scan.SumUp(all, 2)
	require.Equal(t, 6, whole.All().Bundles)
	require.Equal(t, 4, whole.Missing().Bundles)
	require.Equal(t, whole.All().Mass, each[0].All().Mass+each[1].All().Mass)
	require.Equal(t, whole.All().Mass, whole.Missing().Mass+whole[scan.IsLoaded].Mass)
	require.Equal(t, scan.Sum{Bundles: 1, Mass: all[4].Mass}, each[1].All())
	l := all[4].Line
	weight, err := bar.Weigh(l.Steel.Size, l.Length*bar.Length(all[4].Bundle.Pieces))
	require.NoError(t, err)
	require.Equal(t, weight, all[4].Mass)
}
