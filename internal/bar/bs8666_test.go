package bar

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// mm makes dimensions from pairs of a letter and millimetres.
func mm(pairs ...any) map[byte]Length {
	dims := map[byte]Length{}
	for i := 0; i < len(pairs); i += 2 {
		dims[byte(pairs[i].(rune))] = Length(pairs[i+1].(int)) * Millimetre
	}
	return dims
}

// Lengths worked by hand from the formulas of BS 8666:2005 Table 3.
func TestBS8666Length(t *testing.T) {
	for _, c := range []struct {
		code string
		d, r Length
		dims map[byte]Length
		want float64 // mm
	}{
		{"00", 12, 0, mm('A', 3000), 3000},
		{"11", 12, 24, mm('A', 1000, 'B', 500), 1476},
		{"21", 12, 24, mm('A', 500, 'B', 300, 'C', 500), 1252},
		{"51", 10, 20, mm('A', 400, 'B', 300, 'C', 120), 1540},
		{"41", 16, 32, mm('A', 400, 'B', 300, 'C', 600, 'D', 300, 'E', 400), 1872},
		{"44", 16, 32, mm('A', 400, 'B', 300, 'C', 600, 'D', 300, 'E', 400), 1872},
		{"11", 12, 0, mm('A', 1000, 'B', 500), 1476},                                       // r of Table 2 is 24
		{"12", 16, 0, mm('A', 1000, 'B', 500, 'R', 200), 1000 + 500 - 86 - 19.2},           // A+B-0.43R-1.2d
		{"13", 10, 0, mm('A', 600, 'B', 200, 'C', 500), 600 + 114 + 500 - 16},              // A+0.57B+C-1.6d
		{"22", 10, 20, mm('A', 300, 'B', 400, 'C', 200, 'D', 100), 1000 - 30 - 30},         // -1.5r-3d
		{"33", 10, 0, mm('A', 500, 'B', 200, 'C', 150), 1000 + 340 + 300 - 40},             // 2A+1.7B+2C-4d
		{"67", 14, 0, mm('A', 6000), 6000},                                                 // no radius in Table 2, and none needed
		{"98", 12, 24, mm('A', 300, 'B', 200, 'C', 400, 'D', 100), 1200 - 48 - 48},         // A+2B+C+D-2r-4d
		{"75", 12, 0, mm('A', 1012, 'B', 500), 1000*math.Pi + 500},                         // pi (A-d) + B
		{"77", 10, 0, map[byte]Length{'A': 610 * Millimetre, 'C': 12}, 12 * 600 * math.Pi}, // twelve turns
	} {
		got, err := BS8666Length(c.code, c.d*Millimetre, c.r*Millimetre, c.dims)
		require.NoError(t, err, c.code)
		require.InDelta(t, c.want, got.MM(), 1e-6, c.code)
	}
}

// Formula 11 stands for one quarter circle on the centre line: A + B less twice the outer setback
// r+d and plus pi/2 (r+d/2). By hand the formula is within 2 mm of that up
// to bars of 25 mm.
func TestBS8666LengthIsNearTheCentreLine(t *testing.T) {
	for _, d := range []Length{6, 8, 10, 12, 16, 20, 25} {
		r, _, ok := BS8666Radius(d * Millimetre)
		require.True(t, ok)
		got, err := BS8666Length("11", d*Millimetre, 0, mm('A', 1000, 'B', 500))
		require.NoError(t, err)
		exact := 1500 - 2*(r.MM()+float64(d)) + math.Pi/2*(r.MM()+float64(d)/2)
		require.InDelta(t, exact, got.MM(), 2, d)
	}
}

// Every formula of the table, for square bends: the coefficient of d is twice that of r, as one
// quarter circle takes 0.5 r and 1 d.
func TestBS8666Table(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range bs8666 {
		require.False(t, seen[f.codes], f.codes)
		seen[f.codes] = true
		if f.r < 0 {
			require.Equal(t, 2*f.r, f.d, f.codes)
		}
	}
}

func TestBS8666Radius(t *testing.T) {
	// BS 8666:2005 Table 2.
	for d, want := range map[Length][2]Length{16: {32, 64}, 20: {70, 140}, 25: {87, 175}} {
		r, former, ok := BS8666Radius(d * Millimetre)
		require.True(t, ok)
		require.Equal(t, want, [2]Length{r / Millimetre, former / Millimetre})
	}
	for d := range bs8666Radii { // 4d up to 16 mm, 7d above; r its half
		r, former, _ := BS8666Radius(d * Millimetre)
		times := Length(4)
		if d > 16 {
			times = 7
		}
		require.Equal(t, times*d*Millimetre, former)
		require.Equal(t, times*d/2*Millimetre, r)
	}
	for _, d := range []Length{0, 14 * Millimetre, 16*Millimetre + 1, -16 * Millimetre} {
		_, _, ok := BS8666Radius(d)
		require.False(t, ok, d)
	}
}

func TestBS8666LengthRefuses(t *testing.T) {
	for _, c := range []struct {
		code string
		d, r Length
		dims map[byte]Length
		says string
	}{
		{"99", 12, 0, mm('A', 1000), "no formula in BS 8666:2005"},
		{"", 12, 0, nil, "no formula"},
		{"11", 12, 0, mm('A', 1000), "shape 11: dimension B is missing: it needs A, B"},
		{"11", 12, 0, mm('A', 1000, 'B', -5), "dimension B is missing"},
		{"11", 12, 0, mm('A', 1000, 'B', 500, 'C', 5), "has the dimensions A, B and no others"},
		{"11", 12, 0, mm('A', 1000, 'B', 1000001), "dimension B is over 1000 m"},
		{"11", 14, 0, mm('A', 1000, 'B', 500), "no bending radius for a bar of 14 mm: give one"},
		{"11", 0, 0, mm('A', 1000, 'B', 500), "no bar of diameter 0 mm"},
		{"11", 12, -1, mm('A', 1000, 'B', 500), "with radius -1 mm"},
		{"14", 50, 0, mm('A', 10, 'C', 10), "leave no length"},
		{"75", 12, 0, mm('A', 12, 'B', 500), "12 mm is no ring of a bar of 12 mm"},
		{"77", 12, 0, mm('A', 500, 'C', 12), "C is the number of turns"},
		{"77", 12, 0, mm('A', 500), "dimension C is missing"},
	} {
		got, err := BS8666Length(c.code, c.d*Millimetre, c.r*Millimetre, c.dims)
		require.ErrorContains(t, err, c.says, c.code)
		require.Zero(t, got)
	}
}
