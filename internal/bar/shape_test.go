package bar

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func ft(feet, inches Length) Length { return feet*Foot + inches*Inch }

func TestShapeText(t *testing.T) {
	for _, c := range []struct {
		legs         []Leg
		imperial, mm string
		bends        int
	}{
		{nil, "", "", 0},
		{[]Leg{{Length: ft(11, 6)}}, `11'-6"`, "3505.2 mm", 0},
		{[]Leg{{ft(1, 6), 0, 900}, {ft(8, 6), 0, 900}, {ft(1, 6), 0, 0}},
			`1'-6" [90] 8'-6" [90] 1'-6"`, "457.2 mm [90] 2590.8 mm [90] 457.2 mm", 2},
		{[]Leg{{ft(0, 4), 0, 1350}, {ft(1, 2), 0, -900}, {ft(2, 0), 0, 0}},
			`4" [135L] 1'-2" [90R] 2'-0"`, "101.6 mm [135L] 355.6 mm [90R] 609.6 mm", 2},
		{[]Leg{{ft(2, 0), 0, 0}, {0, ft(12, 0), 600}, {ft(2, 0), 0, 0}},
			`2'-0" (R 12'-0" 60L) 2'-0"`, "609.6 mm (R 3657.6 mm 60L) 609.6 mm", 1},
		{[]Leg{{0, ft(12, 0), -225}}, `(R 12'-0" 22.5R)`, "(R 3657.6 mm 22.5R)", 1},
		{[]Leg{{ft(2, 0), 0, 225}, {0, ft(1, 0), 1}, {0, ft(2, 0), 3600}},
			`2'-0" [22.5] (R 1'-0" 0.1L) (R 2'-0" 360L)`, "609.6 mm [22.5] (R 304.8 mm 0.1L) (R 609.6 mm 360L)", 3},
		{[]Leg{{ft(2, 0), 0, 0}, {ft(3, 0), 0, 0}}, `2'-0" [0] 3'-0"`, "609.6 mm [0] 914.4 mm", 0},
	} {
		s := Shape{Legs: c.legs}
		require.NoError(t, s.Check())
		require.Equal(t, c.imperial, s.Text(Imperial))
		require.Equal(t, c.mm, s.Text(Metric))
		require.Equal(t, c.bends, s.Bends())
		require.Equal(t, c.bends == 0, s.Straight())
		for _, text := range []string{c.imperial, c.mm} {
			legs, err := ParseBends(text)
			require.NoError(t, err)
			require.Equal(t, c.legs, legs)
		}
	}
}

func TestParseBends(t *testing.T) {
	want := []Leg{{ft(0, 4), 0, 1350}, {ft(1, 2), 0, -900}, {ft(2, 0), 0, 0}}
	for _, s := range []string{
		`4" [135L] 1'-2" [90R] 2'-0"`,
		`4" [135] 1'-2" [-90] 2'-0"`,
		`4" [135°L] 1'-2" [90°R] 2'-0"`,
		`4"[135.0]1-2[-90.0]2'`,
		`  4 in [ 135 ] 14" [ -90° ] 24 in `,
	} {
		legs, err := ParseBends(s)
		require.NoError(t, err, s)
		require.Equal(t, want, legs, s)
	}
	for s, says := range map[string]string{
		`4" [90]`:                        "a leg is missing after the last bend",
		`[90] 4"`:                        "leg 1: length is empty",
		`4" [90] [90] 4"`:                "leg 2: length is empty",
		`4" 5"`:                          "between two legs stands a bend like [90]",
		`4`:                              "leg 1: length “4”: no unit",
		`4" [90`:                         "not in square brackets",
		`4" ] 4"`:                        "not in square brackets",
		`4" [] 4"`:                       "bend after leg 1: angle “” is not readable",
		`4" [x] 4"`:                      "angle “x” is not readable",
		`4" [.5] 4"`:                     "angle “.5” is not readable",
		`4" [5.] 4"`:                     "angle “5.” is not readable",
		`4" [90.25] 4"`:                  "angle “90.25” is not readable",
		`4" [-90R] 4"`:                   "angle “-90R” is not readable",
		`4" [90LR] 4"`:                   "angle “90LR” is not readable",
		`4" [180.1] 4"`:                  "over 180 degrees",
		`4" [99999999999] 4"`:            "is not readable",
		`(R 12'-0" 60L`:                  "no closing bracket",
		`(12'-0" 60L)`:                   "write it like (R 12'-0\" 60L)",
		`(R)`:                            "write it like (R 12'-0\" 60L)",
		`(R 12 60L)`:                     "radius of the arc: length “12”: no unit",
		`(R 12'-0" 0L)`:                  "no angle is no arc",
		`(R 12'-0" 361L)`:                "over 360 degrees",
		`2'-0" [0] (R 12'-0" 60L)`:       "leave out [0]",
		strings.Repeat(`(R 1" 1L)`, 101): "over 100 legs",
		strings.Repeat(" ", 9000):        "too long a text",
	} {
		legs, err := ParseBends(s)
		require.ErrorContains(t, err, says, s)
		require.Nil(t, legs, s)
	}
}

func TestShapeCheck(t *testing.T) {
	for says, legs := range map[string][]Leg{
		"shape has 101 legs":                 make([]Leg, 101),
		"leg 1: a straight leg of 0 mm":      {{}},
		"leg 1: a straight leg of -1 mm":     {{Length: -Millimetre}},
		"leg 1 is both straight and an arc":  {{Length: Foot, Radius: Foot, Turn: 900}},
		"leg 1: an arc of inner radius -1 m": {{Radius: -Millimetre, Turn: 900}},
		"leg 1: an arc turns by more than 0": {{Radius: Foot}},
		"at most 360 degrees, not 360.1":     {{Radius: Foot, Turn: -3601}},
		"at most 180 degrees, not 180.1":     {{Foot, 0, 1801}, {Foot, 0, 0}},
		"at most 180 degrees, not 214748364": {{Foot, 0, math.MinInt32}, {Foot, 0, 0}},
		"leg 2 is the last and has a bend":   {{Foot, 0, 900}, {Foot, 0, 900}},
	} {
		s := Shape{Legs: legs}
		require.ErrorContains(t, s.Check(), says)
		require.Zero(t, s.Outer())
		require.NotPanics(t, func() { s.Text(Imperial) })
	}
}

// The sums of legs in worked examples 1 to 3 of the BVBS guideline 3.1 (field l of the header).
func TestOuterOfWorkedExamples(t *testing.T) {
	for bends, want := range map[string]Length{
		"400 mm [90] 600 mm":                                       1000,
		"100 mm [180] 600 mm [180] 100 mm":                         800,
		"100 mm [90] 300 mm [45] 424 mm [-45] 300 mm [-90] 100 mm": 1224,
	} {
		legs, err := ParseBends(bends)
		require.NoError(t, err)
		require.Equal(t, want*Millimetre, Shape{Legs: legs}.Outer(), bends)
	}
	// A full ring of radius 1 m is 2 pi metres: 6.283185307 m, whatever its side.
	for _, turn := range []int32{3600, -3600} {
		require.Equal(t, Length(6_283_185_307), Shape{Legs: []Leg{{0, Metre, turn}}}.Outer())
	}
}

func TestArcLength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Int64Range(1, int64(MaxLength)).Draw(t, "radius")
		turn := rapid.Int32Range(-maxArc, maxArc).Draw(t, "turn")
		want := float64(r) * math.Abs(float64(turn)) / 1800 * math.Pi
		if got := float64(arcLength(Length(r), turn)); math.Abs(got-want) > 0.5+want*1e-14 {
			t.Fatalf("arc of %d nm over %d: %v, want %v", r, turn, got, want)
		}
	})
}

// Every shape that passes Check prints and reads back as it was, in a unit that tells its lengths.
func TestBendsPrintAndParse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom([]Units{Imperial, Metric}).Draw(t, "units")
		step := map[Units]Length{Imperial: Inch / 64, Metric: Millimetre / 10}[unit]
		length := rapid.Custom(func(t *rapid.T) Length { return step * Length(rapid.IntRange(1, 100000).Draw(t, "steps")) })
		legs := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Leg {
			if rapid.Bool().Draw(t, "arc") {
				turn := rapid.Int32Range(1, maxArc).Draw(t, "sweep")
				if rapid.Bool().Draw(t, "right") {
					turn = -turn
				}
				return Leg{Radius: length.Draw(t, "radius"), Turn: turn}
			}
			return Leg{Length: length.Draw(t, "length"), Turn: rapid.Int32Range(-maxBend, maxBend).Draw(t, "turn")}
		}), 1, 12).Draw(t, "legs")
		if last := &legs[len(legs)-1]; !last.arc() {
			last.Turn = 0
		}
		s := Shape{Legs: legs}
		if err := s.Check(); err != nil {
			t.Fatal(err)
		}
		got, err := ParseBends(s.Text(unit))
		if err != nil {
			t.Fatalf("%s: %v", s.Text(unit), err)
		}
		if again := (Shape{Legs: got}).Text(unit); again != s.Text(unit) || len(got) != len(legs) {
			t.Fatalf("%s reads as %s", s.Text(unit), again)
		}
		for i := range legs {
			if got[i] != legs[i] {
				t.Fatalf("%s: leg %d is %v, was %v", s.Text(unit), i+1, got[i], legs[i])
			}
		}
	})
}

func FuzzParseBends(f *testing.F) {
	for _, s := range []string{
		`1'-6" [90] 8'-6" [90] 1'-6"`, `4" [135L] 1'-2" [90R] 2'-0"`, `2'-0" (R 12'-0" 60L) 2'-0"`,
		`457.2 mm [-22.5] 2 m`, `(R 1" 360R)`, `2' [0] 3'`, `[`, `(R `, `4" [90`, `4"[18e1]4"`,
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		legs, err := ParseBends(s)
		if err != nil {
			if legs != nil {
				t.Fatalf("%q: legs besides the error %v", s, err)
			}
			return
		}
		shape := Shape{Legs: legs}
		if err := shape.Check(); err != nil {
			t.Fatalf("%q: %v", s, err)
		}
		if shape.Outer() < 0 {
			t.Fatalf("%q is %d nm around", s, shape.Outer())
		}
		for _, u := range []Units{Imperial, Metric} {
			exact := true
			for _, l := range legs {
				exact = exact && l.Length.Exact(u) && l.Radius.Exact(u)
			}
			if !exact {
				continue
			}
			again, err := ParseBends(shape.Text(u))
			if err != nil || (Shape{Legs: again}).Text(u) != shape.Text(u) {
				t.Fatalf("%q prints %s, reads %v, %v", s, shape.Text(u), again, err)
			}
			for i := range legs {
				if again[i] != legs[i] {
					t.Fatalf("%q prints %s, leg %d reads %v", s, shape.Text(u), i+1, again[i])
				}
			}
		}
	})
}
