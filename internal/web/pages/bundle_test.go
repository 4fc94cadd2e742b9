package pages_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
)

// tell sends a form of a bundle's page.
func (b *browser) tell(bundle, deed string, fields ...string) int {
	return b.post("/bundle/"+bundle+"/"+deed, fields...)
}

func TestABundlesPage(t *testing.T) {
	b, f := open(t)
	take(t, f, barlist.Line{Mark: "<4F207>", Length: 14 * bar.Foot, Pieces: 20})
	const n = "1-001-00000001-31"
	require.Equal(t, 200, b.get("/search?q="+n))
	b.sees(`href="/bundle/` + n + `"`)
	require.Equal(t, 200, b.get("/bundle/"+n))
	b.sees("&lt;4F207&gt;", "26-014", "not begun", "Taken from bar list")
	require.Equal(t, 200, b.tell(n, "route", "steps", "cut, weld", "reason", "r"))
	b.sees("Refused", "is no step")
	require.Equal(t, 200, b.tell(n, "route", "steps", "cut, thread", "reason", "a coupler (invented)"))
	b.sees("Accepted", "its route is cut, thread now", "got the route cut, thread")
	require.Equal(t, 200, b.tell(n, "undo", "reason", "r"))
	b.sees("has no progress to undo")
	require.Equal(t, 200, b.tell(n, "void", "reason", "not made"))
	b.sees("voided")
	require.Equal(t, 404, b.get("/bundle/1-001-00000002-28"))
	require.Equal(t, 404, b.get("/bundle/x"))
	require.Equal(t, 200, b.get("/bundle/"+n))
	require.Equal(t, 404, b.tell(n, "weld"))
}
