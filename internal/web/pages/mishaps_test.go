package pages_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
)

// TestMishapsOnABundlesPage: lost pieces, a split, a merge and a lost tag, by plain forms.
func TestMishapsOnABundlesPage(t *testing.T) {
	b, f := open(t)
	take(t, f, barlist.Line{Mark: "4F207", Length: 14 * bar.Foot, Pieces: 20, Route: []string{"cut"}})
	const n, rest, part = "1-001-00000001-31", "1-001-00000002-28", "1-001-00000003-25"
	require.Equal(t, 200, b.get("/bundle/"+n))
	require.Equal(t, 200, b.tell(n, "lost", "pieces", "2", "why", "miscut"))
	b.sees("Refused", "void it, or change the list")
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", n, "pieces", "20"))
	require.Equal(t, 200, b.scan("S1", n, "do", "lost", "pieces", "2", "why", "miscut"))
	b.sees("Accepted", "2 pieces lost", "It has 18 now", rest)
	require.Equal(t, 200, b.get("/bundle/"+rest))
	b.sees("Replacement", "made for pieces that were lost")
	require.Equal(t, 200, b.get("/bundle/"+n))
	require.Equal(t, 200, b.tell(n, "lost", "pieces", "two", "why", "miscut"))
	b.sees("Refused", "two is no count")
	require.Equal(t, 200, b.tell(n, "lost", "pieces", "1 2", "why", "miscut"))
	b.sees("Refused", "write one")
	require.Equal(t, 200, b.tell(n, "lost", "pieces", "1", "why", "sample", "settled", "1"))
	b.sees("Accepted", "It has 17 now", "sample")
	require.Equal(t, 200, b.tell(n, "split", "pieces", "x"))
	b.sees("Refused", "x is no count")
	require.Equal(t, 200, b.tell(n, "split", "pieces", "7", "reason", "two trucks"))
	b.sees("Accepted", "keeps 10 pieces", part)
	require.Equal(t, 200, b.tell(n, "merge", "from", "12"))
	b.sees("Refused")
	require.Equal(t, 200, b.tell(n, "merge", "from", part))
	b.sees("Accepted", "which has 17 pieces now", "Has pieces of")
	require.Equal(t, 200, b.get("/bundle/"+part))
	b.sees("Merged into", n)
	require.Equal(t, 200, b.get("/bundle/"+n))
	require.Equal(t, 200, b.tell(n, "tag-lost", "copy", "x"))
	b.sees("Refused", "x is no count")
	require.Equal(t, 200, b.tell(n, "tag-lost", "reason", "torn off"))
	b.sees("Accepted", "Print copy 2")
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", "HTTPS://TAGS.EXAMPLE/T/"+"10010000000131"+"/C1/N17", "do", "show"))
	b.sees("Check", "was reported lost")

	// What lost its tag is found by what can be seen of it.
	require.Equal(t, 200, b.get("/find"))
	b.sees("<form")
	for _, q := range []string{"size=%235&length=14%27", "job=26-014&list=1", "mark=4F207&size=%235"} {
		require.Equal(t, 200, b.get("/find?"+q))
		b.sees(n, rest)
		require.NotContains(t, b.page, part, "it is no more")
	}
	require.Equal(t, 200, b.get("/find?size=%236"))
	b.sees("Nothing found under that name")
	for _, q := range []string{"size=10", "length=far", "place=A-99"} {
		require.Equal(t, 200, b.get("/find?"+q))
		b.sees("Refused")
	}
	b.lang = "es"
	require.Equal(t, 200, b.get("/bundle/"+n))
	b.sees("Piezas perdidas", "mal cortadas", "Dividirlo")
}
