package pages_test

import (
	"context"
	"net/http/httptest"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// settle sends the form of the first thing on the list.
func (b *browser) settle(fields ...string) int {
	action := regexp.MustCompile(`action="(/open/\d+/resolve)"`).FindStringSubmatch(b.page)
	require.NotNil(b, action, b.page)
	return b.post(action[1], fields...)
}

func TestTheListToResolve(t *testing.T) {
	b, f := open(t)
	ctx := context.Background()
	take(t, f, barlist.Line{Mark: "<4F207>", Length: 14 * bar.Foot, Pieces: 20})
	const n = "1-001-00000001-31"
	require.Equal(t, 200, b.get("/open"))
	b.sees("Nothing is open.")
	number, err := tags.ParseNumber(n)
	require.NoError(t, err)
	_, err = f.Hold(ctx, floor.Origin{}, event.HoldPut{Target: event.Target{Number: number}, Reason: "rib height"})
	require.NoError(t, err)
	r, err := f.MakePerson(ctx, floor.Origin{}, floor.Person{Name: "Ana Example", Offices: []scan.Office{scan.Quality}})
	require.NoError(t, err)
	badge := r.Events[0].Body.(event.PersonMade).Person.String()

	x := scan.Scan{Read: tags.Scan{Number: number, Text: n}, Station: "S1", Device: "tablet", At: time.Now().Add(-time.Hour).UnixMilli(), Late: true}
	_, _, err = f.Scan(ctx, floor.Origin{Device: "tablet", Happened: time.UnixMilli(x.At)}, x)
	require.NoError(t, err)
	require.Equal(t, 200, b.get("/"))
	b.sees("List to resolve: 1")
	require.Equal(t, 200, b.get("/search?q="+n))
	b.sees("List to resolve: 1", "Disputed: 1")
	require.Equal(t, 200, b.get("/open?office=shipping"))
	b.sees("Nothing is open.")
	require.Equal(t, 200, b.get("/open?office=quality&station=S1&disputed=1&bundle="+n))
	b.sees("Disputed: ", "&lt;4F207&gt; 1/1, 26-014/1", "is held", "quality:", "Decide about what is held", "tablet")
	require.Equal(t, 200, b.settle("reason", "cut at two", "took", "1"))
	b.sees("Refused", "scan a badge of quality")
	require.Equal(t, 200, b.settle("reason", "cut at two", "took", "1", "pieces", "many"))
	b.sees("Refused", "many is no count")
	b.lang = "es"
	require.Equal(t, 200, b.settle("reason", "cut at two", "took", "1", "person", badge))
	b.sees("Atención", "queda registrado como hecho", "20 piezas cortadas")
	// The hold, and that no bars lay on the feed, are for quality again.
	require.Equal(t, 200, b.get("/open"))
	b.sees("Lista por resolver", "calidad:", "Resolverlo")
	require.Equal(t, 200, b.settle("reason", "set aside", "person", badge))
	b.sees("queda resuelto", "No hay nada pendiente.")
	require.Equal(t, 404, b.do(httptest.NewRequest("POST", "/open/x/resolve", nil)))
}
