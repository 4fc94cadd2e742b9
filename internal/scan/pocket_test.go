package scan_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/scan"
	"tagd/internal/tags"
)

// TestPocketTaken: the answer names all that lies in the pocket that a person chose.
func TestPocketTaken(t *testing.T) {
	p := shop()
	p.lies("S1", "2", bundle(12))
	p.lies("S1", "1", bundle(51))
	p.lies("S1", "2", bundle(22))
	require.Equal(t, []tags.Number{bundle(12), bundle(22)}, p.floors["S1"].In("2"))
	a := decide(t, p, at("S1", bundle(11), pocket("2"))).Answer
	says, _ := scan.Say(a.Notes[1], scan.English)
	require.Equal(t, "The pieces go into pocket 2.", says)
	says, _ = scan.Say(a.Notes[2], scan.Spanish)
	require.Equal(t, "En la casilla 2 ya está M1 2/2, M2 2/2.", says)
}
