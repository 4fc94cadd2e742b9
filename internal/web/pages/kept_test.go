package pages_test

import (
	"net/url"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
)

// TestKeptScans: what a device kept is sent with its own time. Sent again, with or without that, it is the same
// scan; what the rules refuse by now, and what cannot be read, goes onto the list to resolve.
func TestKeptScans(t *testing.T) {
	b, f := open(t)
	take(t, f, barlist.Line{Mark: "4F207", Length: 14 * bar.Foot, Pieces: 20})
	bundle := "1-001-00000001-31"
	require.Equal(t, 200, b.get("/at/S1"))

	// The answer to the first try was lost with the network.
	first := url.Values{"code": {bundle}, "key": {b.key()}}
	require.Equal(t, 200, b.send("/at/S1", first))
	b.sees("Scan the tag again when all 20 are cut")
	first.Set("kept", "1")
	first.Set("at", "2026-03-02T10:47:12.250Z")
	require.Equal(t, 200, b.send("/at/S1", first))
	b.sees("Scan the tag again when all 20 are cut")

	kept := func(at string, fields ...string) {
		t.Helper()
		require.Equal(t, 200, b.scan("S1", bundle, append([]string{"kept", "1", "at", at}, fields...)...))
	}
	kept("2099-03-02T10:49:55Z")
	b.sees("20 pieces cut")
	kept("2099-03-02T10:50:31Z") // a third one: it is cut already
	b.sees("Check")
	kept("not set", "pieces", "3")
	b.sees("Check")
	kept("2099-03-02T10:52:00Z", "from", "some lot")
	b.sees("Check")
	require.Equal(t, 200, b.get("/open"))
	b.sees("is not a time of this plant", "write the number on the lot")
}
