package label

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/bar"
)

// The boxes of the sketch on a tag of 4 x 6 in, and on one of 4 x 3 in.
var sketchBoxes = map[string]rect{"large": {0, 0, 93.6, 23.5}, "small": {0, 0, 40.5, 18.8}}

// drawnAs says how a sketch came out.
func drawnAs(k sketch) string {
	switch {
	case len(k.bar) == 0:
		return "words"
	case len(k.texts) > 0 && k.texts[len(k.texts)-1].s[0] >= 'A' && strings.ContainsRune(k.texts[len(k.texts)-1].s, nbsp):
		return "letters"
	}
	return "dimensions"
}

// sketchFaults says what is wrong with a sketch: texts over each other, on the bar, or out of the
// box; a bar out of the box.
func sketchFaults(k sketch, box rect) error {
	for i, t := range k.texts {
		if !t.box.within(box) {
			return fmt.Errorf("%q stands out of the box: %.2f", t.s, t.box)
		}
		l, top, r, b := t.face.ink(t.s)
		em := t.size * point
		if math.Abs(t.pen.X+l*em-t.box.x0)+math.Abs(t.pen.Y+top*em-t.box.y0)+math.Abs(t.pen.X+r*em-t.box.x1)+math.Abs(t.pen.Y+b*em-t.box.y1) > 1e-6 {
			return fmt.Errorf("%q: the pen is not where the ink is", t.s)
		}
		for _, o := range k.texts[:i] {
			if overlap(t.box, o.box) {
				return fmt.Errorf("%q lies on %q", t.s, o.s)
			}
		}
		for j := 1; j < len(k.bar); j++ {
			if t.box.toSegment(k.bar[j-1], k.bar[j]) < barWidth/2 {
				return fmt.Errorf("%q lies on the bar", t.s)
			}
		}
	}
	inner := rect{barWidth/2 - 1e-3, barWidth/2 - 1e-3, box.x1 - barWidth/2 + 1e-3, box.y1 - barWidth/2 + 1e-3}
	for _, p := range k.bar {
		if !(rect{p.X, p.Y, p.X, p.Y}).within(inner) {
			return fmt.Errorf("the bar leaves the box at %.2f", p)
		}
	}
	return nil
}

// The shapes that the sketch was designed on: 1, 2, 3, 5, 6, 7, 8 and 12 legs, 45, 90, 135 and
// 180 degrees, arcs, and a hook of 2 1/2" on a bar of 38'-0". All of them are drawn on a 4 x 6 in
// tag; on 4 x 3 in some end in words.
func TestSketches(t *testing.T) {
	for _, c := range []struct {
		name, order  string
		units        bar.Units
		large, small string
	}{
		{"one leg", `20'-0"`, bar.Imperial, "dimensions", "dimensions"},
		{"L", `10" [90] 10'-9"`, bar.Imperial, "dimensions", "dimensions"},
		{"short hook on a long bar", `2 1/2" [135R] 38'-0"`, bar.Imperial, "dimensions", "dimensions"},
		{"U", `1'-6" [90] 8'-6" [90] 1'-6"`, bar.Imperial, "dimensions", "dimensions"},
		{"offset", `12'-0" [45L] 7" [45R] 4'-0"`, bar.Imperial, "dimensions", "dimensions"},
		{"two hooks of 180", `5" [180] 19'-2" [180] 5"`, bar.Imperial, "dimensions", "dimensions"},
		{"stirrup", `4" [135] 1'-2" [90] 2'-3" [90] 1'-2" [90] 2'-3" [135] 4"`, bar.Imperial, "dimensions", ""},
		{"five legs", `6" [90] 5'-0" [90] 3'-0" [90] 4'-0" [90] 2'-0"`, bar.Imperial, "dimensions", ""},
		{"hooked arc", `9" [90L] (R 12'-0" 67L) 9"`, bar.Imperial, "dimensions", ""},
		{"arc", `(R 35'-0" 32.7L)`, bar.Imperial, "dimensions", "dimensions"},
		{"seven legs", `8" [180L] 3'-2" [45R] 2'-1" [45L] 9'-6" [45L] 2'-1" [45R] 3'-2" [180L] 8"`, bar.Imperial, "dimensions", ""},
		{"eight legs", `6" [90L] 1'-0" [90R] 2'-0" [90R] 1'-6" [90L] 3'-0" [90L] 1'-6" [90R] 2'-0" [90R] 1'-0 1/2"`, bar.Imperial, "dimensions", ""},
		{"twelve legs", `150 mm [90L] 300 mm [90R] 400 mm [90R] 300 mm [90L] 600 mm [90L] 300 mm [90R] 400 mm [90R] 300 mm [90L] 600 mm [90L] 300 mm [90R] 150 mm [90R] 75 mm`, bar.Metric, "dimensions", ""},
		{"closed tie with hooks of 90", `4" [90] 1'-2" [90] 2'-3" [90] 1'-2" [90] 2'-3" [90] 4"`, bar.Imperial, "dimensions", ""},
	} {
		shape := bent(t, c.order)
		for name, box := range sketchBoxes {
			k, err := drawBend(shape, 0, c.units, box.x1, box.y1)
			require.NoError(t, err, c.name)
			require.NoError(t, sketchFaults(k, box), "%s, %s box", c.name, name)
			want := c.large
			if name == "small" {
				want = c.small
			}
			if want != "" {
				require.Equal(t, want, drawnAs(k), "%s, %s box", c.name, name)
			}
		}
	}
}

// legAngles gives the headings of the straight legs of a drawn bar, in degrees, from the points.
func heading(p, q Point) float64 { return math.Atan2(p.Y-q.Y, q.X-p.X) * 180 / math.Pi }

// The longest leg lies level, the rest stands above it, and a left bend stays a left bend: the
// drawing is turned, never mirrored.
func TestSketchIsTurnedNotMirrored(t *testing.T) {
	box := sketchBoxes["large"]
	for _, order := range []string{
		`10" [90L] 10'-9"`, `10" [90R] 10'-9"`, `10'-9" [90L] 10"`, `10'-9" [90R] 10"`,
		`1'-6" [90R] 8'-6" [90R] 1'-6"`, `12'-0" [45L] 7" [45R] 4'-0"`, `5" [135R] 9'-0" [45R] 2'-0"`,
	} {
		shape := bent(t, order)
		k, err := drawBend(shape, 0, bar.Imperial, box.x1, box.y1)
		require.NoError(t, err)
		require.NotEmpty(t, k.bar, order)
		turned := 0.0
		longest, floor := 0.0, 0.0
		lowest := math.Inf(-1)
		for i := 1; i < len(k.bar); i++ {
			if d := distance(k.bar[i-1], k.bar[i]); d > longest {
				longest, floor = d, k.bar[i].Y
				require.True(t, d < 20 || math.Abs(k.bar[i].Y-k.bar[i-1].Y) < 1e-6, "%s: the longest leg is level", order)
			}
			lowest = max(lowest, k.bar[i].Y)
			if i > 1 {
				a := heading(k.bar[i-1], k.bar[i]) - heading(k.bar[i-2], k.bar[i-1])
				turned += math.Remainder(a, 360)
			}
		}
		want := 0.0
		for _, l := range shape.Legs {
			want += float64(l.Turn) / 10
		}
		require.InDelta(t, want, turned, 1e-6, "%s: sum of the turns as drawn", order)
		require.InDelta(t, floor, lowest, 1e-6, "%s: nothing lies below the longest leg", order)
	}
}

// To scale, or marked as not.
func TestSketchScale(t *testing.T) {
	box := sketchBoxes["large"]
	scaled := func(order string) (sketch, bool) {
		k, err := drawBend(bent(t, order), 0, bar.Imperial, box.x1, box.y1)
		require.NoError(t, err)
		for _, x := range k.texts {
			if x.s == notToScale {
				return k, false
			}
		}
		return k, true
	}
	k, ok := scaled(`3'-0" [90] 8'-6" [90] 3'-0"`)
	require.True(t, ok)
	b := (&route{points: k.bar}).box()
	require.InDelta(t, 3.0/8.5, (b.y1-b.y0)/(b.x1-b.x0), 0.002)
	_, ok = scaled(`2 1/2" [135R] 38'-0"`)
	require.False(t, ok)
}

func TestSketchInWords(t *testing.T) {
	// A spiral that winds onto itself cannot be drawn.
	order := strings.Repeat(`400 mm [90L] `, 11) + `400 mm`
	k, err := drawBend(bent(t, order), 0, bar.Metric, 93.6, 23.5)
	require.NoError(t, err)
	require.Equal(t, "words", drawnAs(k))
	var all []string
	for _, x := range k.texts {
		all = append(all, x.s)
	}
	require.Equal(t, strings.Repeat("400 [90] ", 11)+"400", strings.ReplaceAll(strings.Join(all, " "), string(nbsp), " "))
	for _, line := range all[:len(all)-1] {
		require.True(t, strings.HasSuffix(line, "]"), "%q breaks between legs", line)
	}
	_, err = drawBend(bent(t, strings.Repeat(`12'-11 15/16" [22.5R] `, 99)+`4"`), 0, bar.Imperial, 93.6, 23.5)
	var fit *FitError
	require.ErrorAs(t, err, &fit)
	require.Equal(t, "shape", fit.Field)
}

// An arc is given by radius and sweep; its length runs along the bar's centre line and is told no
// finer than the sweep, of a tenth of a degree, is.
func TestArcDimension(t *testing.T) {
	legs := legsOf(bent(t, `(R 35'-0" 32.7L)`), bar.Inch*5/8, bar.Imperial)
	require.Equal(t, `20'-0" R 35'-0"`, legs[0].text) // 420.3125 in x 0.57072 = 239.88 in
	legs = legsOf(bent(t, `(R 300 mm 180L)`), 16*bar.Millimetre, bar.Metric)
	require.Equal(t, "968 R 300", legs[0].text) // 308 mm x pi = 967.6 mm
}

// randomLegs draws a bent bar of 2 to n legs.
func randomLegs(t *rapid.T, n int) []bar.Leg {
	legs := make([]bar.Leg, rapid.IntRange(2, n).Draw(t, "legs"))
	for i := range legs {
		if rapid.IntRange(0, 9).Draw(t, "arc") == 0 {
			legs[i] = bar.Leg{
				Radius: bar.Length(rapid.IntRange(50, 20_000).Draw(t, "radius")) * bar.Millimetre,
				Turn:   int32(rapid.IntRange(1, 3600).Draw(t, "sweep")),
			}
			continue
		}
		legs[i] = bar.Leg{
			Length: bar.Length(rapid.OneOf(rapid.IntRange(1, 400), rapid.IntRange(1, 20_000)).Draw(t, "sixteenths")) * bar.Inch / 16,
			Turn:   rapid.SampledFrom([]int32{900, -900, 900, 1350, -1350, 450, -450, 1800, -1800, 300, 225, -605}).Draw(t, "turn"),
		}
	}
	if last := &legs[len(legs)-1]; last.Radius == 0 {
		last.Turn = 0
	}
	return legs
}

func TestRandomSketches(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shape := bar.Shape{Legs: randomLegs(t, 12)}
		units := rapid.SampledFrom([]bar.Units{bar.Imperial, bar.Metric}).Draw(t, "units")
		for name, box := range sketchBoxes {
			k, err := drawBend(shape, 16*bar.Millimetre, units, box.x1, box.y1)
			var fit *FitError
			if name == "small" && errors.As(err, &fit) {
				continue // even the words may find no room there
			}
			if err != nil {
				t.Fatalf("%s box: %v", name, err)
			}
			if err := sketchFaults(k, box); err != nil {
				t.Fatalf("%s box: %v", name, err)
			}
		}
	})
}

func BenchmarkSketch(b *testing.B) {
	for _, order := range []string{
		`1'-6" [90] 8'-6" [90] 1'-6"`,
		`4" [135] 1'-2" [90] 2'-3" [90] 1'-2" [90] 2'-3" [135] 4"`,
	} {
		shape := bent(b, order)
		b.Run(fmt.Sprintf("%d legs", len(shape.Legs)), func(b *testing.B) {
			for b.Loop() {
				if _, err := drawBend(shape, 0, bar.Imperial, 93.6, 22.9); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
