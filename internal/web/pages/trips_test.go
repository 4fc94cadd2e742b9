package pages_test

import (
	"context"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// upload sends a form of a load with a photo, or without.
func (b *browser) upload(path, photo string, fields ...string) int {
	name := ""
	if photo != "" {
		name = "signed.pdf"
	}
	return b.postFile(path, name, photo, append([]string{"key", b.key()}, fields...)...)
}

// TestTheWayOfALoad: on the page of a load, by forms alone, it is weighed and handed over, and what comes
// back and what is claimed is said and answered.
func TestTheWayOfALoad(t *testing.T) {
	b, f := open(t)
	ctx := context.Background()
	_, err := f.SetJob(ctx, floor.Origin{}, event.JobSet{Job: "26-014"})
	require.NoError(t, err)
	angle := bar.Shape{Code: "17", Legs: []bar.Leg{{Length: 5 * bar.Foot, Turn: 900}, {Length: 5 * bar.Foot}}}
	take(t, f,
		barlist.Line{Mark: "<A>", Length: 10 * bar.Foot, Pieces: 20, Shape: angle, Route: []string{"cut"}},
		barlist.Line{Mark: "B", Length: 20 * bar.Foot, Pieces: 20, Route: []string{"cut", "coat"}},
	)
	do := func(station string, n tags.Number, pieces int, do scan.Do, gone bool) {
		x := scan.Scan{Station: station, Device: "gun", At: time.Now().UnixMilli(), Read: tags.Scan{Number: n, Text: n.Digits()}, Pieces: pieces, Do: do, Gone: gone}
		r, _, err := f.Scan(ctx, floor.Origin{}, x)
		require.NoError(t, err)
		require.NotEqual(t, event.Refused, r.Answer.Verdict, r.Answer.Notes)
	}
	send := func(stop load.Stop, mark string) string {
		planned, _, err := f.PlanLoad(ctx, floor.Origin{}, load.Plan{Stops: []load.StopPlan{{Stop: stop, Lines: []load.Line{{Job: "26-014", List: "1", Mark: mark}}}}})
		require.NoError(t, err)
		n := planned.Set.Load
		bundle := planned.Set.Stops[0].Bundles[0]
		do("S1", bundle, 20, scan.Scanned, false)
		do("L1", n, 0, scan.Scanned, false)
		require.Equal(t, 200, b.get("/loads/"+n.String()))
		b.sees("What is on, and where the rest lies", "Securement, flags and permits", ">S1 / ")
		do("L1", bundle, 0, scan.Scanned, false)
		do("L1", n, 0, scan.Ship, false)
		return "/loads/" + n.String()
	}
	truck := send(load.Stop{Job: "26-014"}, "<A>")
	const first, second = "1-001-00000001-31", "1-001-00000002-28"

	require.Equal(t, 200, b.get(truck))
	b.sees("Longest piece", "7′-0 7/8″", "Widest bent shape", "3′-6 7/16″", "&lt;A&gt; 1/1")
	require.Equal(t, 200, b.upload(truck+"/weigh", "", "gross", "heavy", "tare", "1 lb"))
	b.sees("Refused", "gross")
	require.Equal(t, 200, b.upload(truck+"/weigh", "%PDF-1.4 an invented ticket", "gross", "30,220 lb", "tare", "30,000 lb", "ticket", "T-17"))
	b.sees("Accepted", "220 lb net on the scale", "5.5 %", "papers/") // 200 ft at 1.043 lb/ft are 208.6 lb
	require.Equal(t, 200, b.upload(truck+"/deliver", "plain text", "date", "2026-11-26"))
	b.sees("Refused", "is no PDF, JPEG or PNG")
	require.Equal(t, 200, b.upload(truck+"/deliver", "%PDF-1.4 an invented sheet", "date", "2026-11-26", "signed", "A. Sample (invented)", "stop", "1"))
	b.sees("Accepted", "handed over on 2026-11-26", "A. Sample (invented)", "delivered, load")

	require.Equal(t, 200, b.post(truck+"/claim", "bundle", first, "pieces", "3", "what", "short", "who", "B. <Sample> (invented)"))
	b.sees("Accepted", "3 pieces of &lt;A&gt; 1/1 are short")
	require.Equal(t, 200, b.post(truck+"/claim", "bundle", second, "pieces", "3", "what", "short"))
	b.sees("Refused", "did not go with load")
	require.Equal(t, 200, b.post(truck+"/return", "bundle", first, "pieces", "5", "reason", ""))
	b.sees("Refused", "reason")
	require.Equal(t, 200, b.post(truck+"/return", "bundle", first, "pieces", "5", "reason", "bent on the way", "scrap", "1"))
	b.sees("Accepted", "5 pieces are back", `<td class="n">20</td><td class="n">15</td>`)

	require.Equal(t, 200, b.get("/claims"))
	b.sees("B. &lt;Sample&gt; (invented)")
	claim := regexp.MustCompile(`/claims/(\d+)/answer`).FindStringSubmatch(b.page)[1]
	require.Equal(t, 200, b.post("/claims/"+claim+"/answer", "answer", "credit"))
	b.sees("Refused", "reason")
	require.Equal(t, 200, b.post("/claims/"+claim+"/answer", "answer", "replace"))
	b.sees("Accepted", "The line owes 3 for them", "No claim is open.")
	require.Equal(t, 200, b.get(truck))
	require.Equal(t, 404, b.post("/claims/x/answer", "answer", "replace"))
	require.Equal(t, 200, b.get(truck))
	require.Equal(t, 404, b.post(truck+"/burn"))

	coater := send(load.Stop{Processor: "Example Coater (invented)"}, "B")
	require.Equal(t, 200, b.get("/bundle/"+second))
	b.sees("away at Example Coater (invented)")
	require.Equal(t, 200, b.post(coater+"/back", "from", second, "into", "ten=EC-1"))
	b.sees("Refused", "has no count")
	require.Equal(t, 200, b.post(coater+"/back", "from", second, "into", "12=EC-1\n7=EC-2\n"))
	b.sees("Check", "19 of 20 pieces came back")
	b.lang = "es"
	require.Equal(t, 200, b.get(coater))
	b.sees("Qué salió, y qué está allá")
}
