package floor_test

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// TestAHoldReachesEveryStation: a hold on a heat, lot, bundle or load is met at the next scan at every
// kind of station, be it by a device that has the work open already.
func TestAHoldReachesEveryStation(t *testing.T) {
	ctx := context.Background()
	const waits, cut, ready, aboard = 1, 2, 3, 4 // bundles by serial
	for _, tt := range []struct {
		name   string
		target func(lot, load tags.Number) event.Target
		want   string // starting, bending, loading, putting down, and the truck leaving
	}{
		{"heat", func(_, _ tags.Number) event.Target { return event.Target{Mill: "Example Mill", Heat: "H1"} }, "held held held is-held held-on-load"},
		{"lot", func(lot, _ tags.Number) event.Target { return event.Target{Number: lot} }, "held held held is-held held-on-load"},
		{"waiting bundle", func(_, _ tags.Number) event.Target { return event.Target{Number: num(t, tags.Bundle, waits)} }, "held step-started loaded placed shipped"},
		{"cut bundle", func(_, _ tags.Number) event.Target { return event.Target{Number: num(t, tags.Bundle, cut)} }, "cut-started held loaded placed shipped"},
		{"ready bundle", func(_, _ tags.Number) event.Target { return event.Target{Number: num(t, tags.Bundle, ready)} }, "cut-started step-started held is-held shipped"},
		{"bundle on the truck", func(_, _ tags.Number) event.Target { return event.Target{Number: num(t, tags.Bundle, aboard)} }, "cut-started step-started loaded placed held-on-load"},
		{"load", func(_, load tags.Number) event.Target { return event.Target{Number: load} }, "cut-started step-started held placed held-on-load"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := openShop(t)
			_, err := s.SetJob(ctx, floor.Origin{}, event.JobSet{Job: "J"})
			require.NoError(t, err)
			steel := bar.Steel{Size: "#5", Spec: "A615", Grade: "60"}
			var lines []barlist.Line
			for i, route := range [][]string{waits - 1: {"cut"}, cut - 1: {"cut", "bend"}, ready - 1: {"cut"}, aboard - 1: {"cut"}} {
				lines = append(lines, barlist.Line{Row: i + 2, Job: "J", List: "1", Mark: string(rune('A' + i)), Steel: steel, Length: 10 * bar.Foot, Pieces: 6, Route: route})
			}
			_, _, err = s.TakeList(ctx, floor.Origin{}, barlist.File{SHA256: [32]byte{1}, Lines: lines})
			require.NoError(t, err)
			r, err := s.Receive(ctx, floor.Origin{}, event.LotReceived{Mill: "Example Mill", Heats: []string{"H1"}, Steel: steel, Length: 60 * bar.Foot, Bars: 40})
			require.NoError(t, err)
			lot, err := floor.Body[event.LotReceived](r)
			require.NoError(t, err)
			_, r, err = s.PlanLoad(ctx, floor.Origin{}, load.Plan{Limit: 40_000 * bar.Pound, Stops: []load.StopPlan{{Stop: load.Stop{Job: "J"}}}})
			require.NoError(t, err)
			truck, err := floor.Body[event.LoadSet](r)
			require.NoError(t, err)
			place, err := s.MakePlace(ctx, floor.Origin{}, "Bay 1")
			require.NoError(t, err)
			bay, err := floor.Body[event.PlaceMade](place)
			require.NoError(t, err)
			b := func(serial int) string { return num(t, tags.Bundle, serial).Digits() }
			s.scan("S1", lot.Lot.Digits())
			for _, serial := range []int{cut, ready, aboard} {
				s.scan("S1", b(serial))
				a, _ := s.scan("S1", b(serial))
				require.Equal(t, event.Accepted, a.Verdict)
			}
			s.scan("L1", truck.Load.Digits())
			a, _ := s.scan("L1", b(aboard))
			require.Equal(t, event.Accepted, a.Verdict, a)
			s.scan("Y1", bay.Place.Digits())

			_, err = s.Hold(ctx, floor.Origin{}, event.HoldPut{Target: tt.target(lot.Lot, truck.Load), Reason: "rib height"})
			require.NoError(t, err)
			var got []string
			met := func(a event.Answer) {
				code := a.Notes[0].Code
				for _, n := range a.Notes {
					if n.Code == "is held" {
						code = n.Code
					}
				}
				got = append(got, strings.ReplaceAll(code, " ", "-"))
			}
			for _, x := range []struct {
				station string
				bundle  int
			}{{"S1", waits}, {"B1", cut}} {
				a, _ := s.scan(x.station, b(x.bundle))
				met(a)
			}
			down, _ := s.scan("Y1", b(ready))
			on, _ := s.scan("L1", b(ready))
			met(on)
			met(down)
			a, _ = s.scan("L1", truck.Load.Digits(), func(x *scan.Scan) { x.Do = scan.Ship })
			met(a)
			require.Equal(t, tt.want, strings.Join(got, " "))
		})
	}
}
