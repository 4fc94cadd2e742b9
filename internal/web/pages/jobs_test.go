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
	"tagd/internal/tags"
)

func TestJobsWithoutScript(t *testing.T) {
	b, f := open(t)
	ctx := context.Background()
	require.Equal(t, 200, b.get("/jobs"))
	b.sees(`href="/jobs" aria-current="page"`, "No job is here yet", "New job")

	// A new job, whose number has all that an address has to escape.
	rules := []string{"name", "<Harbor> Garage (invented)", "customer", "Kestrel (invented)", "heats", "single", "certs", "on file", "ship_to", "Gate 2\r\n\r\n400 Foundry Street\r\n"}
	require.Equal(t, 200, b.post("/jobs", append(rules, "job", "26/014 A%")...))
	b.sees("Accepted", "&lt;Harbor&gt; Garage", "one heat in a bundle", "Gate 2<br>400 Foundry Street", `action="/jobs/26%2F014%20A%25"`)
	require.Equal(t, 200, b.post("/jobs", append(rules, "job", "26/014 A%")...))
	b.sees("Refused", "is here already", `value="26/014 A%"`)
	require.Equal(t, 200, b.get("/jobs"))
	b.sees(`href="/jobs/26%2F014%20A%25"`, "no truck yet")
	require.Equal(t, 200, b.get("/jobs/26%2F014%20A%25"))
	require.Equal(t, 200, b.post("/jobs/26%2F014%20A%25", append(rules, "country", "nowhere")...))
	b.sees("Refused", "country", `value="nowhere"`)
	require.Equal(t, 200, b.post("/jobs/26%2F014%20A%25", "name", "Garage", "heats", "load"))
	b.sees("Accepted", "listed for each load")
	require.NotContains(t, b.page, "Kestrel") // stated anew, whole
	require.Equal(t, 404, b.get("/jobs/none"))

	// How far it is: of 20 pieces in one bundle and 10 in another, 12 are cut in part and 10 on a truck that is late.
	take(t, f, barlist.Line{Mark: "A", Length: 10 * bar.Foot, Pieces: 20}, barlist.Line{Mark: "B", Length: 10 * bar.Foot, Pieces: 10})
	one, two := "1-001-00000001-31", "1-001-00000002-28"
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", one))
	require.Equal(t, 200, b.scan("S1", one, "do", "part", "pieces", "12"))
	require.Equal(t, 200, b.scan("S1", two, "pieces", "10"))
	_, _, err := f.PlanLoad(ctx, floor.Origin{}, load.Plan{Date: "2020-01-02", Truck: "T-1", Stops: []load.StopPlan{{Stop: load.Stop{Job: "26-014"}, Bundles: numbers(t, two)}}})
	require.NoError(t, err)
	require.Equal(t, 200, b.get("/at/L1"))
	require.Equal(t, 200, b.scan("L1", "4-001-00000001-83"))
	require.Equal(t, 200, b.scan("L1", two))
	require.Equal(t, 200, b.get("/jobs"))
	// #5 is 1.043 lb/ft (ASTM A615 Table 1): 104.3 lb on the truck, 125.16 made, 83.44 to make, 312.9 in all.
	b.sees("days late", "2020-01-02", `<td class="n">104<span class="sub">10</span>`, `<td class="n">125<span class="sub">12</span>`,
		`<td class="n">83<span class="sub">8</span>`, `<td class="n big">313<span class="sub">30</span>`, `class="dashed"`, `class="away"`)
	require.Equal(t, 200, b.get("/jobs/26-014"))
	b.sees("4-001-00000001-83", "open", `href="/tags?job=26-014&amp;list=1"`, "days late")

	// A hold on it is said, and what is lost is owed.
	_, err = f.Hold(ctx, floor.Origin{}, event.HoldPut{Target: event.Target{Number: numbers(t, one)[0]}, Reason: "look at it"})
	require.NoError(t, err)
	b.lang = "es"
	require.Equal(t, 200, b.get("/jobs"))
	b.sees("retenido: 1", "días tarde", "Cortado o doblado")
	require.Equal(t, 200, b.get("/jobs/26-014"))
	b.sees("Sus reglas", "no se piden", one)
}

// numbers reads numbers as they are shown.
func numbers(t *testing.T, shown ...string) (out []tags.Number) {
	for _, s := range shown {
		n, err := tags.ParseNumber(s)
		require.NoError(t, err)
		out = append(out, n)
	}
	return out
}
