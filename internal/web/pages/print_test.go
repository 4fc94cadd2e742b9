package pages_test

import (
	"context"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
)

var sheetAt = regexp.MustCompile(`href="(/tags/sheet[^"]*)"`)

func TestTagsWithoutScript(t *testing.T) {
	b, f := open(t)
	ctx := context.Background()
	take(t, f, barlist.Line{Mark: "<A>", Length: 10 * bar.Foot, Pieces: 20}, barlist.Line{Mark: "B", Length: 12 * bar.Foot, Pieces: 10})
	one, two := "1-001-00000001-31", "1-001-00000002-28"
	require.Equal(t, 200, b.get("/tags"))
	b.sees("Nothing of it waits for its first tag", `aria-current="page"`)
	_, _, err := f.PlanLoad(ctx, floor.Origin{}, load.Plan{Date: "2026-12-02", Truck: "T-1", Stops: []load.StopPlan{{Stop: load.Stop{Job: "26-014"}, Bundles: numbers(t, two)}}})
	require.NoError(t, err)

	// What the trucks need comes first; then by job, list, mark and size.
	require.Equal(t, 200, b.get("/tags"))
	b.sees(two, `value="`+two+`" checked`, "Print: 1")
	require.NotContains(t, b.page, one)
	for _, ask := range []string{"job=26-014", "job=26-014&list=1", "mark=%3CA%3E", "size=%235", "job=26-014&list=1&mark=%3CA%3E"} {
		require.Equal(t, 200, b.get("/tags?"+ask))
		b.sees(one, "&lt;A&gt;", "not printed")
	}
	require.Equal(t, 200, b.get("/tags?size=5"))
	b.sees("Refused")
	require.Equal(t, 200, b.get("/tags?load=4-001-00000001-83"))
	b.sees(two)

	// A print is recorded, once for a form, and can be opened as often as one likes.
	require.Equal(t, 200, b.get("/tags?job=26-014"))
	require.Equal(t, 200, b.post("/tags", "what", "bundles", "job", "26-014"))
	b.sees("Refused", "Nothing is ticked")
	form := url.Values{"key": {b.key()}, "what": {"bundles"}, "job": {"26-014"}, "n": {two, one}, "paper": {"4x6"}, "dpi": {"203"}}
	for range 2 { // the same form again is the same print
		require.Equal(t, 200, b.send("/tags", form))
		b.sees("Accepted", "Tags printed: 2", "copy 1")
	}
	at := strings.ReplaceAll(sheetAt.FindStringSubmatch(b.page)[1], "&amp;", "&")
	for range 2 {
		require.Equal(t, 200, b.get(at))
		require.True(t, strings.HasPrefix(b.page, "%PDF"))
	}
	require.Equal(t, 200, b.get("/tags?job=26-014"))
	b.sees("Nothing of it waits")
	require.Equal(t, 200, b.get("/tags?job=26-014&show=again"))
	b.sees("copy 1", "Print the ticked ones")
	require.NotContains(t, b.page, "checked")
	require.Equal(t, 200, b.post("/tags", "what", "bundles", "job", "26-014", "n", two))
	b.sees("Tags printed: 1", "copy 2")
	b.lang = "es"
	require.Equal(t, 200, b.get("/tags?job=26-014&show=all"))
	b.sees("copia 2", "Imprimir las marcadas")
	b.lang = "en"

	// Lots, loads, places and badges have tags too.
	_, err = f.Receive(ctx, floor.Origin{}, event.LotReceived{Mill: "Mesa Steel (invented)", Heats: []string{"0041E5"}, Steel: number5, Length: 60 * bar.Foot, Bars: 20})
	require.NoError(t, err)
	_, err = f.MakePlace(ctx, floor.Origin{}, "Row <1>")
	require.NoError(t, err)
	_, err = f.MakePerson(ctx, floor.Origin{}, floor.Person{Name: "Ana Ruiz (invented)"})
	require.NoError(t, err)
	for what, sees := range map[string]string{"stock": "0041E5", "loads": "T-1", "places": "Row &lt;1&gt;", "badges": "Ana Ruiz (invented)"} {
		require.Equal(t, 200, b.get("/tags?what="+what))
		b.sees(sees)
		number := regexp.MustCompile(`name="n" value="([^"]+)"`).FindStringSubmatch(b.page)[1]
		require.Equal(t, 200, b.post("/tags", "what", what, "n", number))
		b.sees("Accepted", "Tags printed: 1")
		require.Equal(t, 200, b.get(strings.ReplaceAll(sheetAt.FindStringSubmatch(b.page)[1], "&amp;", "&")))
		require.True(t, strings.HasPrefix(b.page, "%PDF"))
	}

	for _, bad := range []string{"from=1&n=1", "from=99999&n=1"} {
		require.Equal(t, 404, b.get("/tags/sheet?"+bad))
	}
	require.Equal(t, 400, b.get("/tags/sheet?from=x"))
}
