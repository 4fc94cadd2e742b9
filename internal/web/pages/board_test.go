package pages_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
)

// TestTheBoard: what was cut and loaded today, what the next truck lacks, what lies at the dock, and a band for what
// is held, of which there is nothing on a good day.
func TestTheBoard(t *testing.T) {
	b, f := open(t)
	ctx := context.Background()
	require.Equal(t, 200, b.get("/board"))
	b.sees("Cut", "Loaded", "No load waits.", "Nothing is on a truck.", "Example Rebar Shop (invented)")
	require.NotContains(t, b.page, "refused")

	take(t, f, barlist.Line{Mark: "4F207", Length: 14 * bar.Foot, Pieces: 200}, barlist.Line{Mark: "4F208", Length: 10 * bar.Foot, Pieces: 50})
	_, err := f.Receive(ctx, floor.Origin{}, event.LotReceived{Mill: "Mesa Steel (invented)", Heats: []string{"0041E5"}, Steel: number5, Length: 60 * bar.Foot, Bars: 100})
	require.NoError(t, err)
	_, _, err = f.PlanLoad(ctx, floor.Origin{}, load.Plan{Truck: "T-09", Limit: 44_000 * bar.Pound, Stops: []load.StopPlan{{Stop: load.Stop{Job: "26-014"}, Lines: []load.Line{{Job: "26-014", List: "1"}}}}})
	require.NoError(t, err)
	require.Equal(t, 200, b.get("/at/S1"))
	for range 2 {
		require.Equal(t, 200, b.scan("S1", "1-001-00000001-31", "pieces", "200"))
	}
	require.Equal(t, 200, b.scan("L1", "4-001-00000001-83"))
	require.Equal(t, 200, b.scan("L1", "1-001-00000001-31"))
	b.sees("Accepted")

	// 200 bars of 14' of #5 at 1.043 lb/ft (ASTM A615, Table 1) are 2,920.4 lb, 1.46 tons of 2,000 lb; 50 of 10' are 521.5 lb.
	require.Equal(t, 200, b.get("/board"))
	b.sees(`<h2>Cut</h2><p><b>1.46</b>`, `<h2>Loaded</h2><p><b>1.46</b>`, `<h2>Bent</h2><p><b>0</b>`, "Shear 1</span> 1.46",
		"T-09", `522 <span class="u">lb</span></td>`, `aria-label="2,920 lb / 44,000 lb"`, `class="now"`)
	require.Equal(t, 200, b.get("/at/L1"))
	require.Equal(t, 200, b.scan("L1", "1-001-00000001-31", "do", "unload"))
	_, err = f.Hold(ctx, floor.Origin{}, event.HoldPut{Target: event.Target{Mill: "Mesa Steel (invented)", Heat: "0041E5"}, Reason: "elongation too low"})
	require.NoError(t, err)
	require.Equal(t, 200, b.get("/board?lang=es"))
	b.sees(`<h2>Cargado</h2><p><b>0</b>`, "1 retención", "0041E5", "elongation too low")
}
