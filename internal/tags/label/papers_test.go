package label

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestColumnKeepsAllText(t *testing.T) {
	letters := rapid.StringOfN(rapid.RuneFrom([]rune("aWQj1-/., ÑÅ\u00a0")), 0, 60, -1)
	rapid.Check(t, func(t *rapid.T) {
		c := Column{
			Name: "note", W: rapid.Float64Range(0.5, 60).Draw(t, "width"),
			Max: rapid.Float64Range(6, 30).Draw(t, "largest"), Min: 6,
			Face: rapid.SampledFrom([]Face{Regular, Bold, Mono}).Draw(t, "face"),
		}
		in := rapid.SliceOfN(letters, 0, 3).Draw(t, "paragraphs")
		w, err := c.Set(in...)
		require.NoError(t, err)
		require.LessOrEqual(t, w.Size(), c.Max)
		require.GreaterOrEqual(t, w.Size(), c.Min)
		for _, line := range w.Lines() {
			if len([]rune(line)) > 1 {
				require.LessOrEqual(t, c.Face.reach(line)*w.Size()*point, c.W+1e-6, "%q", line)
			}
		}
		blanks := strings.NewReplacer(" ", "", "\u00a0", "")
		require.Equal(t, blanks.Replace(strings.Join(in, "")), blanks.Replace(strings.Join(w.Lines(), "")))
	})
}

func TestColumnSetsAsFieldsDo(t *testing.T) {
	c := Column{Name: "mark", W: 24, Max: 8.5, Min: 6.5, Face: Bold}
	one, err := c.Set("PIER4W-FT128")
	require.NoError(t, err)
	require.Equal(t, []string{"PIER4W-FT128"}, one.Lines())
	two, err := c.Set("PIER4W-FOOTING-128")
	require.NoError(t, err)
	require.Equal(t, []string{"PIER4W-", "FOOTING-128"}, two.Lines(), "broken after a hyphen before letters become small")
	require.Equal(t, 8.5, two.Size())
	require.InDelta(t, 8.5*point*leading, two.Depth(), 1e-9)
	_, err = c.Set("鉄筋")
	require.ErrorContains(t, err, "mark")
	none, err := c.Set(" ")
	require.NoError(t, err)
	require.Zero(t, none.Rise()+none.Depth()+none.Width())
}
