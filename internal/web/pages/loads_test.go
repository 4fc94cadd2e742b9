package pages_test

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
)

// TestPlanningALoad: by the keyboard alone, a load is made, planned stop by stop, and planned anew; the
// page says what moved, and the shear shows the work in the order of the trucks.
func TestPlanningALoad(t *testing.T) {
	b, f := open(t)
	ctx := context.Background()
	_, err := f.SetJob(ctx, floor.Origin{}, event.JobSet{Job: "26-014"})
	require.NoError(t, err)
	take(t, f,
		barlist.Line{Mark: "A", Length: 14 * bar.Foot, Pieces: 20},
		barlist.Line{Mark: "<B>", Length: 10 * bar.Foot, Pieces: 20},
	)
	const first, second = "1-001-00000001-31", "1-001-00000002-28"
	const truck = "/loads/4-001-00000001-83"

	require.Equal(t, 200, b.get("/loads"))
	b.sees("No load waits.")
	require.Equal(t, 200, b.post("/loads", "job", "26-014", "date", "tomorrow", "truck", "T-7"))
	b.sees("Refused", "is no day", `value="T-7"`)
	require.Equal(t, 200, b.post("/loads", "job", "26-014", "date", "2026-11-30", "leaves", "06:30", "limit", "40,000 lb"))
	b.sees("Accepted", "is planned: 0 bundles", "2026-11-30 06:30", `value="40,000 lb"`)
	require.Equal(t, 200, b.get(truck))
	require.Equal(t, 200, b.post(truck, "date", "2026-11-30", "leaves", "06:30", "limit", "40,000 lb",
		"job-0", "26-014", "list-0", "1", "mark-0", "A", "job-1", "26-014", "ship_to-1", "1 Example Rd\nSampletown", "list-1", "1", "job-2", ""))
	b.sees("2 bundles added", "&lt;B&gt; 1/1", "1 Example Rd\nSampletown", "Stop 2")

	// The last stop is loaded first, so its bundle is cut first.
	require.Equal(t, 200, b.get("/at/S1"))
	b.sees("Next for the trucks")
	require.Less(t, strings.Index(b.page, second), strings.Index(b.page, first))
	require.Equal(t, 200, b.get("/loads"))
	b.sees("2026-11-30", "Cannot be made from the stock on hand", "20 × 14′-0″", "9 bars 60′-0″")

	// A bundle that is typed at another stop goes there; one that is ticked is taken off.
	require.Equal(t, 200, b.get(truck))
	require.Equal(t, 200, b.post(truck, "limit", "40,000 lb", "job-0", "26-014", "bundles-0", second, "job-1", "26-014", "off", first))
	b.sees("0 bundles added, 1 taken off, 1 to another stop", "taken off")
	require.Equal(t, 200, b.post(truck, "job-0", "26-014", "limit", "heavy"))
	b.sees("Refused", "limit")
	require.Equal(t, 200, b.post(truck, "job-0", "26-014", "drop-0", "1", "job-1", "26-014"))
	b.sees("0 bundles added, 1 taken off")
	require.Equal(t, 404, b.get("/loads/4-001-00000009-59"))
	require.Equal(t, 404, b.get("/loads/x"))
	b.lang = "es"
	require.Equal(t, 200, b.get("/loads"))
	b.sees("Carga nueva")
}
