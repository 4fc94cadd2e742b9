package bar_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/bar"
)

// TestBox holds boxes against those worked out by hand, of the figure that the legs draw.
func TestBox(t *testing.T) {
	for _, c := range []struct {
		name, bends string
		pin         bar.Length
		long, wide  string
	}{
		{"straight", "", 0, "0", "0"},
		// The right triangle of 5, 5 and 5√2: along the longest side it is 5/√2 high.
		{"an angle", `5' [90] 5'`, 0, `7'-0 27/32"`, `3'-6 27/64"`},
		// The right triangle of 3, 4 and 5: its height over the 5 is 3 x 4 / 5.
		{"three, four, five", `3' [90] 4'`, 0, `5'`, `2'-4 51/64"`},
		{"a trough", `1'-6" [90] 8'-6" [90] 1'-6"`, 0, `8'-6"`, `1'-6"`},
		// A stirrup of 12 by 24 with hooks that lie inside.
		{"a stirrup", `12" [90] 24" [90] 12" [90] 24"`, 0, `2'`, `1'`},
		// By hand: corners (0,0), (10,0), (10,2) and (20,2). Along the side from (10,0) to (20,2), which is √104
		// long, (0,0) lies 20/√104 across and (20,2) 204/√104 along.
		{"an offset", `10' [90L] 2' [90R] 10'`, 0, `20'-0 3/64"`, `1'-11 17/32"`},
		// Back on itself, by the pin: the hull is 4 by 0.5 ft.
		{"a hook of half a turn", `4' [180] 6"`, 6 * bar.Inch, `4'`, `6"`},
		{"a hook of half a turn, no pin known", `4' [180] 6"`, 0, `4'`, `0`},
		// Half a circle of radius 6': 12 wide and 6 high.
		{"half a ring", `(R 6' 180L)`, 0, `12'`, `6'`},
	} {
		t.Run(c.name, func(t *testing.T) {
			legs, err := bar.ParseBends(c.bends)
			require.NoError(t, err)
			long, wide := bar.Shape{Pin: c.pin, Legs: legs}.Box()
			for _, x := range []struct {
				got  bar.Length
				want string
			}{{long, c.long}, {wide, c.wide}} {
				want := bar.Length(0)
				if x.want != "0" {
					want, err = bar.ParseLength(x.want)
					require.NoError(t, err)
				}
				require.InDelta(t, float64(want), float64(x.got), float64(bar.Inch)/64, "%s, not %s", x.got.Text(bar.Imperial), x.want)
			}
		})
	}
	long, wide := bar.Shape{Legs: []bar.Leg{{Length: 5 * bar.Foot, Turn: 1800}, {}}}.Box() // a shape that is none
	require.Zero(t, long+wide)
}

// TestBoxIsRoom: no rectangle at any angle is less wide, and what is walked fits into it.
func TestBoxIsRoom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s bar.Shape
		n := rapid.IntRange(2, 6).Draw(t, "legs")
		for i := range n {
			l := bar.Leg{Length: bar.Length(rapid.IntRange(1, 40).Draw(t, "length")) * bar.Foot / 4}
			if i < n-1 {
				l.Turn = int32(rapid.IntRange(-179, 179).Draw(t, "turn") * 10)
			}
			s.Legs = append(s.Legs, l)
		}
		if s.Straight() {
			return
		}
		long, wide := s.Box()
		x, y, heading := []float64{0}, []float64{0}, 0.0
		for i, l := range s.Legs {
			x = append(x, x[i]+float64(l.Length)*math.Cos(heading))
			y = append(y, y[i]+float64(l.Length)*math.Sin(heading))
			heading += float64(l.Turn) / 1800 * math.Pi
		}
		require.GreaterOrEqual(t, long, wide)
		for angle := 0.0; angle < math.Pi; angle += math.Pi / 90 {
			least, most := math.Inf(1), math.Inf(-1)
			for i := range x {
				d := x[i]*math.Cos(angle) + y[i]*math.Sin(angle)
				least, most = min(least, d), max(most, d)
			}
			require.GreaterOrEqual(t, most-least+10, float64(wide), "narrower at %v", angle)
			// From one side to the other of the box is at most its diagonal.
			require.LessOrEqual(t, most-least-10, math.Hypot(float64(long), float64(wide)))
		}
	})
}
