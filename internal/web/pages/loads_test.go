package pages_test

import (
	"context"
	"regexp"
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
	b.sees("Refused", "is no day", `value="T-7"`, `value="26-014" selected`)
	require.Equal(t, 200, b.post("/loads", "job", "26-014", "date", "2026-11-30", "leaves", "06:30", "limit", "40,000 lb"))
	b.sees("Accepted", "is planned: 0 bundles", "2026-11-30 06:30", `value="40,000 lb"`)

	// What is on no load is ticked, and a load and a stop chosen for it.
	require.Equal(t, 200, b.get("/loads/plan"))
	b.sees(`<option value="26-014"`)
	require.Equal(t, 200, b.get("/loads/plan?job=26-014&to=4-001-00000001-83.0"))
	b.sees("The rest of list", `value="4-001-00000001-83.0" selected`, "Stop 1: 26-014")
	require.Equal(t, 200, b.get("/loads/plan?job=26-014&list=1"))
	b.sees(`name="mark" value="A"`, `name="mark" value="&lt;B&gt;"`, "292 <span") // 20 of 14 ft at 1.043 lb/ft are 292.04 lb
	require.Equal(t, 200, b.post("/loads/plan", "job", "26-014", "list", "1", "to", "4-001-00000001-83.0"))
	b.sees("Refused", "nothing is ticked")
	require.Equal(t, 200, b.post("/loads/plan", "job", "26-014", "list", "1", "mark", "A", "to", "nowhere"))
	b.sees("Refused", "choose the load and the stop", `value="A" checked`)
	require.Equal(t, 200, b.post("/loads/plan", "job", "26-014", "list", "1", "mark", "A", "to", "4-001-00000001-83.0"))
	b.sees("1 bundle added", "What moved", "on no load", first)
	require.Equal(t, 200, b.post(truck+"/stop", "seen", b.seen(), "stop", "1", "job", "26-014", "ship_to", "1 Example Rd\nSampletown"))
	b.sees("Accepted", "1 Example Rd\nSampletown", "Stop 2")
	require.Equal(t, 200, b.post(truck+"/stop", "seen", b.seen(), "stop", "2", "job", "26-099"))
	b.sees("Refused", "is not known")
	require.Equal(t, 200, b.get("/loads/plan?job=26-014"))
	require.Equal(t, 200, b.post("/loads/plan", "job", "26-014", "rest", "1", "to", "4-001-00000001-83.1"))
	b.sees("1 bundle added", "&lt;B&gt; 1/1")
	require.Equal(t, 200, b.get("/loads/plan?job=26-014"))
	b.sees("everything is planned")

	// The last stop is loaded first, so its bundle is cut first.
	require.Equal(t, 200, b.get("/at/S1"))
	b.sees("Next for the trucks")
	require.Less(t, strings.Index(b.page, second), strings.Index(b.page, first))
	require.Equal(t, 200, b.get("/loads"))
	b.sees("Mon 2026-11-30", "06:30", "Cannot be made from the stock on hand", "20 × 14′-0″", "9 bars 60′-0″", "Bundles without a forecast: 2", "S1, cut, light bars: 0 records, needed: 5")

	// A stop goes up or down with what is planned for it; what is ticked goes to another stop, or off.
	require.Equal(t, 200, b.get(truck))
	before := b.seen()
	require.Equal(t, 200, b.post(truck+"/stop", "seen", before, "stop", "1", "do", "up"))
	b.sees("2 to another stop")
	require.Less(t, strings.Index(b.page, `value="`+second), strings.Index(b.page, `value="`+first))
	require.Equal(t, 200, b.post(truck+"/stop", "seen", before, "stop", "0", "do", "down"))
	b.sees("Refused", "were changed meanwhile")
	require.Equal(t, 200, b.post(truck+"/stop", "seen", b.seen(), "stop", "0", "do", "down"))
	b.sees("2 to another stop")
	require.Equal(t, 200, b.post(truck+"/stop", "seen", b.seen(), "stop", "1", "do", "down"))
	b.sees("Refused", "is none of the 2 stops")
	require.Equal(t, 200, b.post(truck+"/move", "seen", b.seen(), "to", "off"))
	b.sees("Refused", "tick the bundles")
	require.Equal(t, 200, b.post(truck+"/move", "seen", b.seen(), "bundle", first, "to", "off"))
	b.sees("1 taken off", "taken off")
	require.Equal(t, 200, b.post(truck+"/move", "seen", b.seen(), "numbers", first+" "+second, "to", "4-001-00000001-83.0"))
	b.sees("1 bundle added", "1 to another stop")

	// Onto another load, from this one; and the load as a whole.
	require.Equal(t, 200, b.get("/loads"))
	require.Equal(t, 200, b.post("/loads", "job", "26-014", "date", "2026-12-01"))
	b.sees("4-001-00000002-80")
	require.Equal(t, 200, b.get(truck))
	require.Equal(t, 200, b.post(truck+"/move", "seen", b.seen(), "bundle", second, "to", "4-001-00000002-80.0"))
	b.sees("1 from other loads", "Load <span class=\"id\">4-001-00000001-83")
	require.Equal(t, 200, b.post(truck+"/head", "limit", "heavy"))
	b.sees("Refused", "limit")
	require.Equal(t, 200, b.post(truck+"/head", "date", "2026-11-30", "leaves", "07:15", "truck", "T-9", "limit", "200 lb"))
	b.sees("Check", "over the limit", "T-9", "07:15")
	require.Equal(t, 200, b.post(truck+"/stop", "seen", b.seen(), "stop", "0", "do", "drop"))
	b.sees("1 taken off")
	require.Equal(t, 404, b.get("/loads/4-001-00000009-59"))
	require.Equal(t, 404, b.get("/loads/x"))

	// From what is on no load straight onto a new one.
	require.Equal(t, 200, b.get("/loads/plan?job=26-014"))
	require.Equal(t, 200, b.post("/loads/plan", "job", "26-014", "list", "1", "mark", "A", "to", "new", "date", "2026-12-02", "leaves", "06:00"))
	b.sees("2026-12-02 06:00", "4-001-00000003-77", "1 bundle added")
	b.lang = "es"
	require.Equal(t, 200, b.get("/loads"))
	b.sees("Carga nueva", "Mié 2026-12-02", "Atados sin pronóstico")
	require.Equal(t, 200, b.get("/loads/plan?job=26-014"))
	b.sees("Planear atados")
	require.Equal(t, 200, b.get("/loads/left"))
	b.sees("Todavía no sale ninguna carga.")
}

var seen = regexp.MustCompile(`name="seen" value="([^"]+)"`)

// seen is what a form of a load says of the stops that its page shows.
func (b *browser) seen() string { return seen.FindStringSubmatch(b.page)[1] }
