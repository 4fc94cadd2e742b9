package export

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestNatural(t *testing.T) {
	want := []string{"", "1", "2", "2b", "2c", "4F9", "4F09x", "4F010", "4F10", "4F10-2", "4F10-10", "4F10A", "10", "12b",
		"A", "A1", "B", "B1-9", "B1-10", "B2-1", "PIER", "a1", "ñ1"}
	got := slices.Clone(want)
	slices.Reverse(got)
	slices.SortFunc(got, Natural)
	require.Equal(t, want, got)
	// Longer than any integer type.
	require.Negative(t, Natural("A99999999999999999999998", "A99999999999999999999999"))
}

func TestNaturalIsAnOrder(t *testing.T) {
	mark := rapid.StringOfN(rapid.RuneFrom([]rune("0019AB-")), 0, 8, -1)
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := mark.Draw(t, "a"), mark.Draw(t, "b"), mark.Draw(t, "c")
		require.Equal(t, -Natural(b, a), Natural(a, b))
		require.Equal(t, a == b, Natural(a, b) == 0)
		if Natural(a, b) <= 0 && Natural(b, c) <= 0 {
			require.LessOrEqual(t, Natural(a, c), 0, "%q %q %q", a, b, c)
		}
	})
}
