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

// The recall of a heat, its account, and a hold that is looked at, put and lifted, without script.
func TestRecallAndHoldPages(t *testing.T) {
	b, f := open(t)
	ctx := context.Background()
	take(t, f, barlist.Line{Mark: "<4F207>", Length: 10 * bar.Foot, Pieces: 12, Route: []string{"cut"}})
	r, err := f.Receive(ctx, floor.Origin{}, event.LotReceived{Mill: "Example Mill", Heats: []string{"0041E5"}, Steel: number5, Length: 60 * bar.Foot, Bars: 10})
	require.NoError(t, err)
	lot, err := floor.Body[event.LotReceived](r)
	require.NoError(t, err)
	const n = "1-001-00000001-31"
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", lot.Lot.Digits()))
	require.Equal(t, 200, b.scan("S1", n, "pieces", "12"))

	require.Equal(t, 200, b.get("/recall?q=0041E5"))
	b.sees("heat Example Mill 0041E5", "Nothing is held", "Ready, not loaded", "&lt;4F207&gt;", "certain", "182880000000", "What no record can tell", "+ Received")
	require.Equal(t, 200, b.get("/recall?q=0041E5&as_of=3"))
	b.sees("Nothing found under that name")
	require.Equal(t, 200, b.get("/recall?q=0041E5&as_of=yesterday"))
	b.sees("is no moment")

	require.Equal(t, 200, b.get("/holds?what=0041E5"))
	b.sees("Held now", "none")
	require.Equal(t, 200, b.post("/holds", "what", "0041E5", "reason", "rib <height>", "would", "1"))
	b.sees("It stops", "Nothing is started from 1 lot: 8 bars, 501 lb.", "The loading of 1 bundle (12 pieces, 125 lb) is refused.", "none")
	require.Equal(t, 200, b.post("/holds", "what", "0041E5", "reason", "rib <height>"))
	b.sees("Accepted", "Nothing is started from 1 lot", "rib &lt;height&gt;")
	require.Equal(t, 200, b.post("/holds", "what", "0041E5", "reason", "again"))
	b.sees("Refused", "is held already")
	require.Equal(t, 200, b.post("/holds", "what", "999", "reason", "r"))
	b.sees("Refused", "is not known")
	require.Equal(t, 200, b.get("/T/"+strings.ReplaceAll(n, "-", "")))
	b.sees("Held: do not place")
	require.Equal(t, 200, b.get("/T/"+lot.Lot.Digits()))
	b.sees("Held: do not place")
	require.Equal(t, 200, b.get("/recall?q=0041E5&lang=es"))
	b.sees("Listo, sin cargar", "retenido", "Aquí no se sabe quién llamó")
	require.Equal(t, 200, b.get("/holds?lang=en"))
	require.Equal(t, 200, b.post("/holds/lift", "what", "Example Mill 0041E5", "reason", "retested"))
	require.Equal(t, 200, b.get("/holds?lang=en"))
	b.sees("Held now", "none")
}
