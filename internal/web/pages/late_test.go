package pages_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
)

// TestWhatMissesItsTruck: the page of trucks says what will miss its truck, by how many records, what has no
// forecast and why, and what is beyond the limit.
func TestWhatMissesItsTruck(t *testing.T) {
	b, f := open(t)
	ctx := context.Background()
	_, err := f.SetJob(ctx, floor.Origin{}, event.JobSet{Job: "26-014", Name: "Harbor Garage (invented)"})
	require.NoError(t, err)
	var lines []barlist.Line
	for i := range load.Enough + 1 {
		lines = append(lines, barlist.Line{Mark: fmt.Sprint("A", i), Length: 10 * bar.Foot, Pieces: 20, Route: []string{"cut"}})
	}
	take(t, f, append(lines, barlist.Line{Mark: "T", Length: 10 * bar.Foot, Pieces: 20, Route: []string{"cut", "tie"}})...)
	for i := range load.Enough {
		n := []string{"1-001-00000001-31", "1-001-00000002-28", "1-001-00000003-25", "1-001-00000004-22", "1-001-00000005-19"}[i]
		require.Equal(t, 200, b.get("/at/S1"))
		require.Equal(t, 200, b.scan("S1", n))
		time.Sleep(2 * time.Millisecond) // a record has some length
		require.Equal(t, 200, b.scan("S1", n, "pieces", "20"))
	}
	yesterday := time.Now().UTC().AddDate(0, 0, -1).Format(time.DateOnly)
	_, _, err = f.PlanLoad(ctx, floor.Origin{}, load.Plan{Date: yesterday, Leaves: "06:30", Limit: 300 * bar.Pound, Stops: []load.StopPlan{{Stop: load.Stop{Job: "26-014"}, Lines: []load.Line{{List: "1"}}}}})
	require.NoError(t, err)
	require.Equal(t, 200, b.get("/loads"))
	b.sees("06:30", "should have left by now", "Will miss it: 1", ">A5 1/1<", "Ready, by the median", "Bundles without a forecast: 1", "tie, no station does it",
		"over the limit", "1,160 <span") // seven of 20 x 10 ft at 1.043 lb/ft are 1,460.2 lb, 1,160 over the limit
	b.lang = "es"
	require.Equal(t, 200, b.get("/loads"))
	b.sees("No llegan: 1", "ya debía haber salido", "ninguna estación lo hace", "sobre el límite")
}
