package pages_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
)

func TestALotsPage(t *testing.T) {
	b, f := open(t)
	ctx := context.Background()
	require.Equal(t, 200, b.get("/places"))
	require.Equal(t, 200, b.post("/places", "name", "Row <1>"))
	b.sees("Accepted", "Row &lt;1&gt;")
	require.Equal(t, 200, b.post("/places", "name", "Row <1>"))
	b.sees("Refused", `value="Row &lt;1&gt;"`)
	place := numbers(t, "5-001-00000001-68")[0]
	receive := func(l event.LotReceived) {
		_, err := f.Receive(ctx, floor.Origin{}, l)
		require.NoError(t, err)
	}
	receive(event.LotReceived{Mill: "Mesa Steel (invented)", Heats: []string{"0041E5"}, Steel: number5, Length: 60 * bar.Foot, Bars: 20, Place: place})
	receive(event.LotReceived{Steel: bar.Steel{Size: "#8", Spec: "A615", Grade: "60"}, Length: 40 * bar.Foot, Bars: 5})
	_, err := f.ReceiveCoil(ctx, floor.Origin{}, event.CoilReceived{Mill: "Mesa Steel (invented)", Heats: []string{"77"}, Steel: bar.Steel{Size: "#4", Spec: "A615", Grade: "60"}, Mass: 4000 * bar.Pound})
	require.NoError(t, err)
	five, eight, coil := "2-001-00000001-16", "2-001-00000002-13", "2-001-00000003-10"

	// Bars weigh 20 x 60 ft at 1.043 lb/ft and 5 x 40 ft at 2.670 lb/ft (ASTM A615 Table 1).
	require.Equal(t, 200, b.get("/stock"))
	b.sees("1,786 <span", "4,000 <span", "1,252", "no cert on file", `href="/stock/`+five+`"`, "Row &lt;1&gt;")
	only := func(ask string, want string, not ...string) {
		require.Equal(t, 200, b.get("/stock?"+ask))
		b.sees(`href="/stock/` + want + `"`)
		for _, n := range not {
			require.NotContains(t, b.page, `href="/stock/`+n+`"`, ask)
		}
	}
	only("size=%235", five, eight, coil)
	only("place=row+%3C1%3E", five, eight, coil)
	only("heat=0041e5", five, eight, coil)
	only("kind=coil", coil, five, eight)
	only("kind=bars", eight, coil)
	require.Equal(t, 200, b.get("/stock?kind=remnants"))
	b.sees("Nothing of it is on hand")
	require.Equal(t, 200, b.get("/stock?size=5"))
	b.sees("Refused", "size")
	require.Equal(t, 200, b.get("/places"))
	b.sees(`<td class="n">1</td><td class="n">1,252</td>`)

	// Its bars go into a run, and leave a remnant.
	take(t, f, barlist.Line{Mark: "A", Length: 50 * bar.Foot, Pieces: 2})
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", five))
	require.Equal(t, 200, b.scan("S1", "1-001-00000001-31", "pieces", "2"))
	require.Equal(t, 200, b.get("/stock/"+five))
	b.sees("18 <span", "S1/A", "Where its bars went", "26-014 A", "(2)", "2-001-00000004-07", "2 × 10′-0″", `class="line"`)
	only("kind=remnants", "2-001-00000004-07", coil, eight)
	require.Equal(t, 200, b.get("/stock/2-001-00000004-07"))
	b.sees("May be left over from", five)

	// What is held stands out, and says so at once.
	_, err = f.Hold(ctx, floor.Origin{}, event.HoldPut{Target: event.Target{Number: numbers(t, five)[0]}, Reason: "wrong <bundle>"})
	require.NoError(t, err)
	only("kind=held", five, eight, coil)
	require.Equal(t, 200, b.get("/stock/"+five))
	b.sees("wrong &lt;bundle&gt;")

	// A form that is not taken keeps what was typed.
	require.Equal(t, 200, b.stock("heat", "number", eight, "heats", "9<9", "reason", "paper came"))
	b.sees("Refused", `value="9&lt;9"`, "<details open>")
	require.Equal(t, 200, b.post("/tags", "what", "stock", "n", eight))
	b.sees("Tags printed: 1")
	b.lang = "es"
	require.Equal(t, 200, b.get("/stock/"+eight))
	b.sees("copia 1", "desconocida", "A dónde fueron sus barras")
	require.Equal(t, 404, b.get("/stock/2-001-00000009-89"))
	require.Equal(t, 404, b.get("/stock/none"))
	require.Equal(t, 200, b.get("/stock?lot="+five)) // as it was written before
	b.sees("A dónde fueron sus barras")
}
