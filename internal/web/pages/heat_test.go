package pages_test

import (
	"context"
	"fmt"
	"html"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/tags"
)

const exampleMill = "Example Mill & Sons (invented)"

// ofHeat is the address of a heat's page.
func ofHeat(name string) string {
	return "/heat?" + url.Values{"mill": {exampleMill}, "heat": {name}}.Encode()
}

// lotOf receives number 5 bars of 60 ft.
func lotOf(t *testing.T, f *floor.Floor, bars int, heats ...string) tags.Number {
	r, err := f.Receive(context.Background(), floor.Origin{}, event.LotReceived{Mill: exampleMill, Heats: heats, Steel: number5, Length: 60 * bar.Foot, Bars: bars})
	require.NoError(t, err)
	lot, err := floor.Body[event.LotReceived](r)
	require.NoError(t, err)
	return lot.Lot
}

var printed = regexp.MustCompile(`<td class="n big">([\d,]+) lb</td>`)

// weights are the weights of the account's table, the total last.
func (b *browser) weights() (out []int) {
	for _, m := range printed.FindAllStringSubmatch(b.page, -1) {
		n, err := strconv.Atoi(strings.ReplaceAll(m[1], ",", ""))
		require.NoError(b, err)
		out = append(out, n)
	}
	return out
}

// The page of a heat says where its weight is, in sums, a drawing and a table, whose printed parts add up.
func TestAHeatsPage(t *testing.T) {
	b, f := open(t)
	var lines []barlist.Line
	for i := range 5 {
		lines = append(lines, barlist.Line{Mark: fmt.Sprintf("<F%d>", i), Length: bar.Length(7+i)*bar.Foot + bar.Inch, Pieces: 11 + i, Route: []string{"cut", "bend"}[:1+i%2]})
	}
	take(t, f, lines...)
	lot := lotOf(t, f, 40, "01/E5")
	other := lotOf(t, f, 10, "777")
	require.Equal(t, 404, b.get(ofHeat("9")))
	b.sees("There is no heat " + html.EscapeString(exampleMill) + " 9.")
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", lot.Digits()))
	for i := range 4 {
		n, err := tags.New(tags.Bundle, 1, i+1)
		require.NoError(t, err)
		require.Equal(t, 200, b.scan("S1", n.Digits()))
		require.Equal(t, 200, b.scan("S1", n.Digits(), "pieces", strconv.Itoa(11+i)))
	}
	require.Equal(t, 200, b.scan("S1", other.Digits()))
	require.Equal(t, 200, b.scan("S1", "10010000000519", "pieces", "15"))

	require.Equal(t, 200, b.get(ofHeat("01/E5")))
	b.sees("01/E5", "2,503 <span", "Where the weight went", "<svg", "Waits for bend", "&lt;F1&gt;", "&lt;F3&gt;", "26-014", "2 certain", "1 one of", "no cert", lot.String(), "one of")
	all := b.weights()
	sum := 0
	for _, w := range all[:len(all)-1] {
		sum += w
	}
	require.Equal(t, 2503, all[len(all)-1]) // 40 x 60 ft at 1.043 lb/ft, ASTM A615 Table 1
	require.Equal(t, 2503, sum)

	require.Equal(t, 200, b.get("/heat/"+url.PathEscape(exampleMill)+"/"+url.PathEscape("01/E5")))
	b.sees("2,503 <span")
	require.Equal(t, 200, b.get(ofHeat("01/E5")+"&as_of=3"))
	b.sees("As it was", "record 3", "Left the plant")
	require.Equal(t, 200, b.get(ofHeat("01/E5")+"&as_of=yesterday"))
	b.sees("is no moment")
	require.Equal(t, 200, b.get(ofHeat("01/E5")+"&lang=es"))
	b.sees("Adónde fue el peso", "Espera doblar", "Puede ser de ella", "Retener esta colada")
}

// A heat of which there is a cert and no steel has a page too.
func TestAHeatsCert(t *testing.T) {
	b, f := open(t)
	_, err := f.FileCert(context.Background(), floor.Origin{}, event.CertFiled{Mill: exampleMill, Heat: "5", Sizes: []bar.Size{"#5"}, Type: "MTR", Text: "C <17>"})
	require.NoError(t, err)
	require.Equal(t, 200, b.get(ofHeat("5")))
	b.sees("C &lt;17&gt;", "no paper")
	lotOf(t, f, 4, "5")
	require.Equal(t, 200, b.get(ofHeat("5")))
	b.sees("Cert for #5", "on file", "250 <span") // 240 ft at 1.043 lb/ft, ASTM A615 Table 1
}
