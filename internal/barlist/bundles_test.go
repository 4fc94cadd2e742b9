package barlist

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/bar"
)

// TestBundles: parts worked out by hand.
func TestBundles(t *testing.T) {
	lb := bar.Pound
	for _, c := range []struct {
		pieces    int
		each      bar.Mass
		maxPieces int
		maxWeight bar.Mass
		want      []int
	}{
		{100, 12 * lb, 40, 0, []int{34, 34, 32}},
		{100, 12 * lb, 0, 3000 * lb, []int{100}},
		{251, 12 * lb, 0, 3000 * lb, []int{126, 125}}, // 250 pieces weigh 3,000 lb
		{250, 12 * lb, 0, 3000 * lb, []int{250}},
		{10, 12 * lb, 4, 0, []int{4, 4, 2}},
		{7, 12 * lb, 2, 0, []int{2, 2, 2, 1}},
		{3, 3001 * lb, 0, 3000 * lb, []int{1, 1, 1}}, // each is heavier than the limit
		{3, 2000 * lb, 0, 3000 * lb, []int{1, 1, 1}},
		{5, 12 * lb, 0, 0, []int{5}},
		{5, 0, 0, 3000 * lb, []int{5}},
		{1, lb, 1, lb, []int{1}},
		{0, lb, 10, lb, nil},
		{-1, lb, 10, lb, nil},
	} {
		require.Equal(t, c.want, Bundles(c.pieces, c.each, c.maxPieces, c.maxWeight), "%+v", c)
	}
}

// TestBundlesOfAWeighedLine: #5 of ASTM A615 Table 1 has 1.043 lb/ft, so 11 ft 6 in weigh
// 11.9945 lb, of which 250 are 2,998.6 lb and 251 over 3,000 lb.
func TestBundlesOfAWeighedLine(t *testing.T) {
	each, err := bar.Weigh("#5", 138*bar.Inch)
	require.NoError(t, err)
	require.Equal(t, []int{250}, Bundles(250, each, 0, 3000*bar.Pound))
	require.Equal(t, []int{126, 125}, Bundles(251, each, 0, 3000*bar.Pound))
}

// TestBundlesHold: no piece is lost, no bundle is empty or over a limit, they are equal but the last
// and as few as can be.
func TestBundlesHold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces := rapid.IntRange(1, 2000).Draw(t, "pieces")
		each := bar.Mass(rapid.Int64Range(1, int64(bar.Tonne)).Draw(t, "each"))
		maxPieces := rapid.IntRange(0, 300).Draw(t, "max pieces")
		maxWeight := bar.Mass(rapid.Int64Range(0, int64(2*bar.Tonne)).Draw(t, "max weight"))
		parts := Bundles(pieces, each, maxPieces, maxWeight)
		fits := func(n int) bool {
			return (maxPieces <= 0 || n <= maxPieces) && (maxWeight <= 0 || n == 1 || bar.Mass(n)*each <= maxWeight)
		}
		sum := 0
		for i, n := range parts {
			sum += n
			if n < 1 || n > parts[0] || i < len(parts)-1 && n != parts[0] || !fits(n) {
				t.Fatalf("%v", parts)
			}
		}
		if sum != pieces {
			t.Fatalf("%d of %d pieces: %v", sum, pieces, parts)
		}
		// One bundle fewer would need one of more pieces than fit.
		if n := len(parts) - 1; n > 0 && fits((pieces+n-1)/n) {
			t.Fatalf("%d bundles would do: %v", n, parts)
		}
	})
}
