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

// TestMendACharge: a charge that was forgotten is looked at, and mended, by a plain form.
func TestMendACharge(t *testing.T) {
	b, f := open(t)
	take(t, f, barlist.Line{Mark: "<4F207>", Length: 14 * bar.Foot, Pieces: 20, Route: []string{"cut"}})
	r, err := f.Receive(context.Background(), floor.Origin{}, event.LotReceived{Mill: "Mesa Steel (invented)", Heats: []string{"0041E5"}, Steel: number5, Length: 60 * bar.Foot, Bars: 20})
	require.NoError(t, err)
	lot, err := floor.Body[event.LotReceived](r)
	require.NoError(t, err)
	const n = "1-001-00000001-31"
	require.Equal(t, 200, b.get("/at/S1"))
	b.sees("/station/S1/runs")
	require.Equal(t, 200, b.scan("S1", n, "pieces", "20"))
	b.sees("Check", "the heat of &lt;4F207&gt; is not known")
	require.Equal(t, 200, b.get("/station/S1/runs"))
	b.sees("280′-0″", "&lt;4F207&gt;", `name="run"`)
	run := strings.Split(strings.Split(b.page, `name="run" value="`)[1], `"`)[0]
	send := func(fields ...string) {
		require.Equal(t, 200, b.post("/station/S1/runs", append([]string{"run", run}, fields...)...))
	}
	send("lot", "x", "do", "look")
	b.sees("Refused")
	send("lot", lot.Lot.String(), "do", "look")
	b.sees("Refused", "reason: is missing")
	send("lot", lot.Lot.String(), "reason", "its tag hung there", "do", "look")
	b.sees("Nothing is recorded", "lay on a feed of Shear 1 after all", lot.Lot.String()+": 5", " checked", "its tag hung there")
	send("lot", lot.Lot.String(), "reason", "its tag hung there", "feed", "A", "do", "record")
	b.sees("Check", "20&#39;-0&#34; are left over", "1 bundle is made of them")
	require.NotContains(t, b.page, "Nothing is recorded")
	require.Equal(t, 200, b.get("/bundle/"+n))
	b.sees("0041E5", "certain", "A charge at S1 was mended")
	require.Equal(t, 404, b.get("/station/S9/runs"))
	b.lang = "es"
	require.Equal(t, 200, b.get("/station/S1/runs?before=2"))
	b.sees("Corregir un material")
}
