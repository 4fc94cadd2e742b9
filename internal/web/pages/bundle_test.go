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
	require.Equal(t, "/bundle/"+n, b.at)
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

// The page tells how far the bundle is, what happened with the refusals in it, and of which heats it is.
func TestABundlesTimeLine(t *testing.T) {
	b, f := open(t)
	take(t, f, barlist.Line{Mark: "4F207", Length: 10 * bar.Foot, Pieces: 12, Route: []string{"cut", "bend"}})
	lot := lotOf(t, f, 4, "01/E5")
	const n = "1-001-00000001-31"
	require.Equal(t, 200, b.get("/bundle/"+n))
	b.sees("not known yet", "Its heats are known when its bars are cut.", "nothing is erased")
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", lot.Digits()))
	require.Equal(t, 200, b.scan("S1", n, "pieces", "12"))
	require.Equal(t, 200, b.get("/at/L1"))
	require.Equal(t, 200, b.scan("L1", n))
	require.Equal(t, 200, b.get("/bundle/"+n))
	b.sees("<b>Cut</b>", `<li class="ahead"><b>Bent</b>`, "not yet", "Only this heat could have been drawn", "no cert on file",
		"</svg>Refused</span>", "No load is open", `href="/stock/`+lot.String()+`"`, "heat=01%2FE5")

	// What was typed stays, and its form stands open, when it is not taken.
	require.Equal(t, 200, b.tell(n, "split", "pieces", "12", "reason", "two <trucks>"))
	b.sees("Refused", "<details open><summary>Split it", `value="two &lt;trucks&gt;"`, "Takes pieces out of this bundle")
	require.Equal(t, 200, b.get("/bundle/"+n+"?before=3&lang=es"))
	b.sees("Deshace el último paso", "Doblado", "todavía no", "cortar: hecho")
}

// A bent bar is drawn as the bend station draws it, and the next tag of a bundle is printed from its page.
func TestABundlesSketchAndTag(t *testing.T) {
	b, f := open(t)
	angle := bar.Shape{Code: "17", Legs: []bar.Leg{{Length: 5 * bar.Foot, Turn: 900}, {Length: 5 * bar.Foot}}}
	take(t, f, barlist.Line{Mark: "<A>", Length: 10 * bar.Foot, Pieces: 20, Shape: angle})
	const n = "1-001-00000001-31"
	require.Equal(t, 200, b.get("/bundle/"+n))
	b.sees(`<figure class="bend">`, "Out to out.", "not printed", `form="print">Print its tag</button>`)
	require.Equal(t, 200, b.post("/tags", "what", "bundles", "n", n))
	b.sees("Tags printed", n)
	require.Equal(t, 200, b.get("/bundle/"+n))
	b.sees("copy 1", `form="print">Print its tag again</button>`)
	require.Equal(t, 200, b.tell(n, "void", "reason", "not made"))
	require.NotContains(t, b.page, `form="print"`)
}
