package barlist

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
)

// What a bar is: by the shape codes of ACI 315 Fig. 10 and BS 8666:2005 Table 3, else by its bends.
func TestFormOf(t *testing.T) {
	for _, c := range []struct {
		code, edition, bends string
		want                 Form
	}{
		{"", "", "", Straight},
		{"00", "BS 8666:2005", "", Straight},
		{"17", "ACI 315-99", "", Bent},
		{"S1", "ACI 315-99", "", Stirrup},
		{"T1", "ACI 315-99", `4" [135] 1' [90] 1' [90] 1' [90] 1' [135] 4"`, Stirrup},
		{"SP", "ACI 315-99", "", Spiral},
		{"STD", "ACI 315-99", "", Bent},
		{"51", "BS 8666:2005", "", Stirrup},
		{"75", "BS 8666:2005", "", Stirrup},
		{"77", "BS 8666:2005", "", Spiral},
		{"51", "", "", Bent}, // of no edition a code says nothing
		{"", "", `1'-6" [90] 8'-6" [90] 1'-6"`, Bent},
		{"", "", `6" [180] 10' [180] 6"`, Bent},                           // two hooks
		{"", "", `2' [45L] 3' [45R] 2' [90L] 1'`, Bent},                   // an offset
		{"", "", `4" [135] 1' [90] 2' [90] 1' [90] 2' [135] 4"`, Stirrup}, // a closed tie
		{"", "", `6" [135] 2' [90] 1' [90] 2' [135] 6"`, Stirrup},         // open, with hooks
		{"", "", `2' [90] 1' [90] 2' [90] 1'`, Stirrup},                   // three sides round
		{"", "", `(R 1' 350L) 6"`, Stirrup},                               // a ring with a lap
		{"", "", `10' (R 12' 60L) 10'`, Bent},                             // a curved bar
		{"", "", `(R 1' 360L) (R 1' 360L) (R 1' 360L)`, Spiral},
	} {
		legs, err := bar.ParseBends(c.bends)
		require.NoError(t, err, c.bends)
		require.Equal(t, c.want, FormOf(bar.Shape{Code: c.code, Edition: c.edition, Legs: legs}), "%+v", c)
	}
}

func TestRoutesByForm(t *testing.T) {
	tie := bar.Shape{Code: "T2", Edition: "ACI 315-99"}
	r := Routes{Stirrup: {"cut and bend"}}
	require.Equal(t, []string{"cut and bend"}, r.Of(Line{Shape: tie}))
	require.Equal(t, []string{"cut"}, r.Of(Line{}))
	require.Equal(t, []string{"cut", "bend"}, r.Of(Line{Shape: bar.Shape{Code: "17"}}))
	require.Equal(t, []string{"cut", "bend"}, Routes(nil).Of(Line{Shape: tie}))
	require.Equal(t, []string{}, r.Of(Line{Route: []string{}, Shape: tie}), "the list says none")
}
