package floor_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// TestPockets follows bundles into the pockets of a shear and out of them: each gets the next free one,
// is found there while it is cut and after, and leaves it free when it is moved.
func TestPockets(t *testing.T) {
	s := openShop(t)
	ctx := context.Background()
	a, l := s.made(10, "H1")
	b, _ := s.made(10)
	c, _ := s.made(10)
	lie := func(pockets map[string]tags.Number, where ...string) {
		t.Helper()
		require.NoError(t, s.View(func(p *view.Past) error {
			got := map[string]tags.Number{}
			for _, x := range p.Floor("S1").Pockets {
				require.Empty(t, got[x.Pocket])
				got[x.Pocket] = x.Bundle
			}
			require.Equal(t, pockets, got)
			for i, n := range []tags.Number{a[0], b[0], c[0]}[:len(where)] {
				x, _ := p.Bundle(n)
				require.Equal(t, where[i], view.Where(p, x, p.Line(x.Line)))
			}
			return nil
		}))
	}
	s.scan("S1", l[0].Digits())
	s.scan("S1", a[0].Digits())
	s.scan("S1", b[0].Digits())
	lie(map[string]tags.Number{"1": a[0], "2": b[0]}, "cut started, S1 pocket 1", "cut started, S1 pocket 2")
	said, _ := s.scan("S1", c[0].Digits())
	s.says(said, event.Accepted, "cut joined") // all are taken: none is given
	lie(map[string]tags.Number{"1": a[0], "2": b[0]}, "cut started, S1 pocket 1", "cut started, S1 pocket 2", "cut started, S1")

	// The start of the second is taken back, and that of the third: it gets the pocket now.
	for _, n := range []tags.Number{b[0], c[0]} {
		_, err := s.Undo(ctx, floor.Origin{}, n, "not yet")
		require.NoError(t, err)
	}
	lie(map[string]tags.Number{"1": a[0]}, "cut started, S1 pocket 1", "not begun", "not begun")
	said, _ = s.scan("S1", c[0].Digits())
	s.says(said, event.Accepted, "cut joined", "into pocket")
	lie(map[string]tags.Number{"1": a[0], "2": c[0]})

	// Cut it lies there still. The yard takes it away, and a truck the other.
	s.scan("S1", a[0].Digits(), func(x *scan.Scan) { x.Pieces = 10 })
	s.scan("S1", c[0].Digits(), func(x *scan.Scan) { x.Pieces = 10 })
	lie(map[string]tags.Number{"1": a[0], "2": c[0]}, "cut done, S1 pocket 1", "not begun", "cut done, S1 pocket 2")
	r, err := s.MakePlace(ctx, floor.Origin{}, "Bay 4")
	require.NoError(t, err)
	bay, err := floor.Body[event.PlaceMade](r)
	require.NoError(t, err)
	s.scan("Y1", bay.Place.Digits())
	s.scan("Y1", a[0].Digits())
	lie(map[string]tags.Number{"2": c[0]}, "cut done, Bay 4")
	_, r, err = s.PlanLoad(ctx, floor.Origin{}, load.Plan{Stops: []load.StopPlan{{Stop: load.Stop{Job: "J"}}}, Limit: 40_000 * bar.Pound})
	require.NoError(t, err)
	truck, err := floor.Body[event.LoadSet](r)
	require.NoError(t, err)
	s.scan("L1", truck.Load.Digits())
	s.scan("L1", c[0].Digits())
	lie(map[string]tags.Number{}, "cut done, Bay 4", "not begun", "on load "+truck.Load.String())

	// Taken off the truck, it lies nobody knows where: not in a pocket.
	s.scan("L1", c[0].Digits(), func(x *scan.Scan) { x.Do = scan.Unload })
	lie(map[string]tags.Number{}, "cut done, Bay 4", "not begun", "cut done, S1")
	said, _ = s.scan("S1", b[0].Digits(), func(x *scan.Scan) { x.Pocket = "2" })
	s.says(said, event.Accepted, "cut started", "into pocket")
	lie(map[string]tags.Number{"2": b[0]})
}
