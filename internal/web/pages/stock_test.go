package pages_test

import (
	"encoding/base64"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
)

// stock sends a form of the page about stock.
func (b *browser) stock(deed string, fields ...string) int {
	return b.post("/stock/"+deed, fields...)
}

// stockFile sends a file of stock.
func (b *browser) stockFile(name, text string, fields ...string) int {
	return b.postFile("/stock/file", name, text, append([]string{"key", b.key()}, fields...)...)
}

func TestStockWithoutScript(t *testing.T) {
	b, f := open(t)
	require.Equal(t, 200, b.get("/"))
	b.sees(`href="/stock"`)
	require.Equal(t, 200, b.get("/stock"))

	// A file is looked at first; the same form then takes it, or says all that is wrong with it.
	yard := "mill,heats,size,spec,grade,length,bars,place\n,,#5,A615,60,60',40,<Row 1>\n"
	require.Equal(t, 200, b.stockFile("yard.csv", yard, "as", "go-live"))
	b.sees("New places: &lt;Row 1&gt;", "#5 A615 60", "the whole yard")
	require.Equal(t, 200, b.stockFile("", "", "as", "go-live", "name", "yard.csv", "data", base64.StdEncoding.EncodeToString([]byte(yard)), "do", "take"))
	b.sees("Accepted", "2-001-00000001-16", "/api/v1/stock/2-001-00000001-16/tag.pdf")
	require.Equal(t, 200, b.stockFile("bad.csv", "mill,size,spec,grade,length,bars\nM,#5,A615,60,60',x\n,#5,A615,60,60',0\n", "as", "receive"))
	b.sees("2 faults: nothing would be taken", "is no count", "count them, 1 at least")
	require.Equal(t, 200, b.stockFile("", ""))
	b.sees("choose the file of stock")

	// By form, expected and received.
	lot := []string{"mill", "Mesa Steel (invented)", "heats", "0041E5", "size", "#5", "spec", "A615", "grade", "60", "length", "60'", "bars", "20"}
	require.Equal(t, 200, b.stock("expect", append(lot, "mill_bundles", "M1=12|M2=8", "date", "2001-01-01")...))
	b.sees("Accepted", "2-001-00000002-13", "0 / 20", "M1, M2", "late")
	require.Equal(t, 200, b.stock("receive", append(lot, "place", "Row 9")...))
	b.sees("Refused", "there is no place Row 9", `value="0041E5"`)
	require.Equal(t, 200, b.stock("confirm", "number", "2-001-00000002-13", "mill_number", "M1", "bars", "11"))
	b.sees("Check", "The paper says 12. Taken in: 11.", "11 / 20")
	require.Equal(t, 200, b.stock("confirm", "number", "2-001-00000002-13", "last", "1"))
	b.sees("No more is expected")
	require.Equal(t, 200, b.stock("count", "number", "2-001-00000002-13"))
	b.sees("Refused", "write 0 if there are none")
	require.Equal(t, 200, b.stock("count", "number", "2-001-00000002-13", "bars", "19", "place", "<Row 1>"))
	b.sees("Check", "19 counted; the record had 20")
	require.Equal(t, 404, b.stock("melt"))

	// A heat that is added later shows what follows from it.
	take(t, f, barlist.Line{Mark: "<4F207>", Length: 14 * bar.Foot, Pieces: 20})
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", "2-001-00000001-16"))
	require.Equal(t, 200, b.scan("S1", "1-001-00000001-31", "pieces", "20"))
	require.Equal(t, 200, b.get("/stock/2-001-00000001-16"))
	b.sees("unknown", `value="2-001-00000001-16"`)
	require.Equal(t, 200, b.stock("heat", "number", "2-001-00000001-16", "heats", "77", "reason", "mill tag found"))
	b.sees("Refused", "mill")
	require.Equal(t, 200, b.stock("heat", "number", "2-001-00000001-16", "mill", "Mesa Steel (invented)", "heats", "77", "reason", "mill tag found"))
	b.sees("What follows", "&lt;4F207&gt;", "26-014", "certain")
	require.Equal(t, 200, b.get("/stock?since=2999-01-01"))
	b.sees("2-001-00000001-16", "never")
	require.Equal(t, 200, b.get("/stock?since=monday"))
	b.sees("is no day")
	b.lang = "es"
	require.Equal(t, 200, b.get("/stock"))
	b.sees("Se espera", "Recibir")
}
